"""When a note that mentions sugar is asked about, and what answers it."""

import pytest

from bubblerate.diary.sugar_notes import open_note

from scenes import diary

DONE = (
    {"day": 0, "event": "pitched", "sg": 1.085},
    {"day": 20, "bubbles": 0, "seconds": 600.0, "sg": 0.994},
)

SWEET = {"day": 30, "bubbles": 0, "note": "added 100 g sugar"}


@pytest.mark.parametrize(
    ("after", "open_"),
    [
        ((), True),
        (({"day": 30.1, "event": "fed"},), False),
        (({"day": 31, "event": "sweetened"},), False),
        (({"day": 31, "bubbles": 0},), True),
        (({"day": 30.05, "sg": 0.996},), True),  # of that evening: it shows nothing yet
        (({"day": 44, "sg": 0.996},), False),
        (({"day": 31, "event": "bottled"},), True),
        (({"day": 30, "event": "not-fed"},), False),
        (({"day": 40, "event": "not-fed"},), False),
        (({"day": 29, "event": "not-fed"},), True),
        (({"day": 31, "event": "not-fed", "struck": "2026-11-02"},), True),
    ],
)
def test_a_note_that_speaks_of_sugar_stays_open_till_a_row_answers(after, open_):
    found = open_note(diary(*DONE, SWEET, *after).batch)
    assert (None if found is None else found.note) == (SWEET["note"] if open_ else None)


def test_a_no_answers_one_note_and_is_not_asked_for_again():
    early = {"day": 25, "note": "added honey"}
    found = open_note(diary(*DONE, early, SWEET, {"day": 31, "event": "not-fed"}).batch)
    assert found.note == "added honey"
    no = [{"day": day, "event": "not-fed", "note": "no sugar added"} for day in (31, 32, 33)]
    assert open_note(diary(*DONE, early, SWEET, *no).batch) is None
    again = {"day": 40, "note": "honey added"}
    assert open_note(diary(*DONE, SWEET, *no, again).batch).note == "honey added"


def test_the_newest_open_note_is_asked_about_and_a_struck_one_never():
    later = {"day": 33, "bubbles": 0, "note": "fed again"}
    assert open_note(diary(*DONE, SWEET, later).batch).note == "fed again"
    assert open_note(diary(*DONE, SWEET | {"struck": "2026-11-02"}).batch) is None
