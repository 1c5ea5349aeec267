from dataclasses import replace
from datetime import timedelta

import pytest

from bubblerate.diary.doubts import Doubt, doubts

from scenes import diary, evening, visits

BEFORE = (
    {"day": 0, "event": "pitched", "sg": 1.084},
    {"day": 5, "bubbles": 20},
    {"day": 20, "bubbles": 12, "seconds": 60.0},
    {"day": 21, "sg": 1.004, "event": "sampled"},
)


def asked(*before: dict[str, object], **new: object) -> tuple[str, ...]:
    """Questions raised by a new row on day 22, or another, written the moment it happened."""
    (visit,) = visits({"day": 22, **new})
    return tuple(doubt.text for doubt in doubts(diary(*before), visit, now=visit.when))


@pytest.mark.parametrize(
    "new",
    [
        {"bubbles": 12},
        {"bubbles": 10, "seconds": 50.0},
        {"bubbles": 0, "seconds": 45.0},  # one bubble more would make more than a tenth
        {"bubbles": 119},
        {"sg": 1.006},  # what a hydrometer cannot tell from 1.004
        {"sg": 0.985},
        {"event": "racked", "litres": 4.3},
        {"temp_c": 18.5},
    ],
)
def test_an_ordinary_row_raises_no_question(new):
    assert asked(*BEFORE, **new) == ()


@pytest.mark.parametrize(
    ("new", "question"),
    [
        (
            {"bubbles": 120},
            "That is ten or more times the last count that had bubbles (12 a minute).",
        ),
        (
            {"bubbles": 1},
            "That is a tenth or less of the last count that had bubbles (12 a minute).",
        ),
        (
            {"bubbles": 0},
            "That is a tenth or less of the last count that had bubbles (12 a minute).",
        ),
        ({"sg": 1.010}, "That is 6 points above the last reading, with nothing added."),
        ({"sg": 0.979}, "0.979 is outside the range of wine (0.980 to 1.180)."),
        ({"sg": 1.3}, "1.300 is outside the range of wine (0.980 to 1.180)."),
    ],
)
def test_what_looks_like_a_slip_raises_one_question(new, question):
    assert asked(*BEFORE, **new) == (question,)


@pytest.mark.parametrize("added", ["fed", "topped-up"])
def test_a_gravity_may_rise_once_something_was_added(added):
    assert asked(*BEFORE, {"day": 21.5, "event": added}, sg=1.030) == ()
    assert asked(*BEFORE, sg=1.030, event=added, added_l=0.3) == ()
    assert asked({"day": 1, "event": added}, *BEFORE, sg=1.030) != ()


def test_a_handful_of_bubbles_makes_no_leap():
    assert asked({"day": 20, "bubbles": 1, "seconds": 600.0}, bubbles=4) == ()
    assert asked({"day": 20, "bubbles": 1, "seconds": 600.0}, bubbles=5) != ()


def test_the_first_bubbles_after_none_are_natural():
    assert asked({"day": 20, "bubbles": 0, "seconds": 600.0}, bubbles=50) == ()


def test_a_new_airlock_makes_new_bubbles():
    rows = [{"day": 20, "bubbles": 2}, {"day": 21, "event": "airlock"}]
    assert asked(*rows, bubbles=40) == ()


def test_two_unlike_counts_within_two_hours_may_be_of_two_jars():
    (doubt,) = asked({"day": 21.95, "bubbles": 22}, bubbles=9)
    assert "is this the right jar?" in doubt
    assert asked({"day": 21.95, "bubbles": 22}, bubbles=20) == ()


def test_a_fall_faster_than_yeast_works_is_questioned():
    (doubt,) = asked({"day": 21, "sg": 1.040}, sg=1.008)
    assert doubt == "That is 32 points below the last reading, faster than yeast can work."
    assert asked({"day": 10, "sg": 1.040}, sg=1.008) == ()


def test_more_wine_than_was_in_it_is_questioned():
    (doubt,) = asked({"day": 0, "litres": 4.5}, event="racked", litres=43.0)
    assert doubt == "43 litres is more than it held (4.5)."
    assert asked({"day": 0, "litres": 4.5}, event="fed", litres=6.0) == ()


@pytest.mark.parametrize("event", ["topped-up", "fed", "diluted"])
def test_what_was_poured_in_is_not_taken_for_what_is_in_it(event):
    (doubt,) = asked({"day": 0, "litres": 4.5}, event=event, litres=0.3)
    assert (
        doubt
        == "That leaves 0.3 litres in it, but it held 4.5. For what you added write --added 0.3."
    )
    assert asked({"day": 0, "litres": 4.5}, event=event, litres=4.8) == ()
    assert asked({"day": 0, "litres": 4.5}, event=event, added_l=0.3) == ()


def test_litres_beside_bottles_that_are_not_what_is_left_are_questioned():
    held = {"day": 0, "litres": 4.5}
    for more in (
        {"litres": 4.5, "bottles": "6x75"},
        {"litres": 5.0},
        {"litres": 4.4, "bottles": "5x75"},
    ):
        (doubt,) = asked(held, event="bottled", **more)
        assert doubt.startswith(
            f"That leaves {more['litres']:g} litres in the jar, which held 4.5."
        )
    for more in (
        {"litres": 2.2, "bottles": "3x75"},
        {"litres": 4.2, "bottles": "1x33"},
        {"litres": 2.0},
    ):
        assert asked(held, event="bottled", **more) == ()


def test_far_less_wine_than_was_in_it_is_questioned_unless_it_was_poured_out():
    (doubt,) = asked({"day": 0, "litres": 4.5}, event="racked", litres=0.45)
    assert doubt == "That leaves 0.45 litres in it, but it held 4.5."
    for event in ("racked", "split", "bottled"):
        assert "That leaves" not in str(
            asked({"day": 0, "litres": 4.5}, event=event, litres=4.2 if event == "racked" else 1.0)
        )


@pytest.mark.parametrize("event", ["clear", "still", "malolactic-over"])
def test_what_only_a_finished_wine_shows_is_questioned_of_one_at_work(event):
    (doubt,) = asked({"day": 0, "sg": 1.088}, event=event)
    assert (
        doubt == f"The last reading, 1.088, is of a fermenting wine: is it really {event} already?"
    )
    assert asked({"day": 0, "sg": 1.088}, {"day": 9, "sg": 0.996}, event=event) == ()


def test_a_count_of_a_few_seconds_may_have_been_of_minutes():
    assert asked(bubbles=12, seconds=5.0) == ("That is 5 seconds; for minutes write 5m.",)
    assert asked(bubbles=12, seconds=15.0) == ()


@pytest.mark.parametrize("temp_c", [-3.0, 45.0])
def test_no_jar_stands_in_frost_or_in_an_oven(temp_c):
    assert asked(bubbles=12, temp_c=temp_c) == (
        f"{temp_c:g} C is outside the usual range for a jar (0 to 40).",
    )
    assert asked(bubbles=12, temp_c=18.0) == ()


def test_the_first_row_of_all_raises_no_question():
    assert asked(bubbles=500, sg=1.100) == ()


def test_a_moment_to_come_is_asked_about_but_a_clock_may_be_a_little_off():
    (visit,) = visits({"day": 22, "bubbles": 12})
    late = visit.when - timedelta(minutes=6)
    future = Doubt(code="when", text="23 Oct 2026 21:00 is in the future.")
    assert doubts(diary(*BEFORE), visit, now=late) == (future,)
    assert doubts(diary(*BEFORE), visit, now=visit.when - timedelta(minutes=4)) == ()


def test_a_row_from_before_the_start_is_asked_about():
    assert asked(*BEFORE, day=-1, bubbles=3) == (
        "30 Sep 2026 21:00 is before the start, 1 Oct 2026 21:00.",
    )


def test_two_slips_in_one_row_raise_two_questions():
    assert len(asked(*BEFORE, bubbles=500, sg=1.2)) == 2


def test_struck_rows_and_later_rows_are_not_compared_with():
    known = diary(*BEFORE)
    (visit,) = visits({"day": 22, "bubbles": 1})
    spared = replace(known, visits=(known.visits[0], replace(known.visits[2], struck="yes")))
    assert doubts(spared, visit, now=visit.when) == ()
    (between,) = visits({"day": 6, "bubbles": 19})
    assert doubts(known, between, now=evening(30)) == ()


# --- what can hurt -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("seconds", "asks"), [(5, 1), (59, 1), (150, 1), (60, 0), (300, 0), (600, 0)]
)
def test_one_timed_gap_is_one_bubble(seconds, asks):
    found = asked({"day": 20, "bubbles": 0, "seconds": 600.0}, bubbles=1, seconds=float(seconds))
    assert [text for text in found if "time ten gaps" in text] == [
        "One timed gap is only one bubble and says little: time ten gaps instead."
    ] * asks
    assert asked({"day": 20, "bubbles": 0}, bubbles=10, seconds=10.0 * seconds) == ()


WORKS = ({"day": 0, "event": "pitched", "sg": 1.085}, {"day": 20, "bubbles": 30, "sg": 1.030})
DONE = (
    {"day": 0, "event": "pitched", "sg": 1.085},
    {"day": 20, "bubbles": 0, "seconds": 600.0, "sg": 0.994},
)


@pytest.mark.parametrize("event", ["bottled", "bottled-sparkling"])
def test_bottling_a_working_wine_says_stop_and_what_to_do(event):
    (text,) = asked(*WORKS, event=event)
    assert text.startswith("STOP: it is still fermenting, and the bottles will burst.")
    assert "30 a minute" in text
    # makers reckon 0.7 bar a point at 20 C (common practice, no source), on top of 1 bar of old gas
    assert "1.030 is 36 points above its expected finish: up to 25 bar in a closed bottle" in text
    for word in ("goggles", "chill", "ease each one open", "airlock", "poured-back"):
        assert word in text


@pytest.mark.parametrize(
    ("rows", "style", "stops"),
    [
        (DONE, None, False),
        ((*DONE, {"day": 21, "bubbles": 12}), None, True),
        ((*DONE, {"day": 21, "bubbles": 1, "seconds": 30.0}), None, True),
        ((*DONE, {"day": 21, "bubbles": 1, "seconds": 1800.0}), None, False),
        ((DONE[0], {"day": 20, "sg": 1.010}), None, True),
        (({"day": 0, "event": "pitched", "sg": 1.058}, {"day": 20, "sg": 1.010}), "perry", False),
        ((DONE[0], {"day": 20, "sg": 1.010}, {"day": 21, "event": "stabilised"}), None, False),
        ((DONE[0], {"day": 1, "bubbles": 30}, {"day": 20, "sg": 0.994}), None, False),
        (({"day": -9, "sg": 1.050, "bubbles": 40}, *DONE), None, False),
    ],
)
def test_only_bottling_what_may_burst_says_stop(rows, style, stops):
    (visit,) = visits({"day": 22, "event": "bottled"})
    found = doubts(diary(*rows), visit, now=visit.when, style=style)
    assert [doubt.code for doubt in found] == ["bottled"] * stops


def test_a_row_on_a_jar_that_was_bottled_is_asked_about():
    empty = (*DONE, {"day": 21, "event": "bottled"})
    assert asked(*empty, bubbles=0) == ("It was bottled on 22 Oct 2026 21:00.",)
    assert asked(*DONE, {"day": 21, "event": "bottled", "litres": 2.0}, bubbles=0) == ()
    assert asked(*empty, event="opened") == ()
    assert asked(*empty, event="poured-back") == ()
    assert asked(*empty, {"day": 21.5, "event": "pitched", "sg": 1.080}, bubbles=3) == ()


@pytest.mark.parametrize(
    ("note", "asks"),
    [
        ("added sugar", True),
        ("Added 200 g of honey", True),
        ("fed it", True),
        ("sugar added tonight", True),
        ("100 grams of sugar", True),
        ("3 teaspoons sugar in each", True),
        ("200 ml syrup", True),
        ("smells of honey", False),
        ("foamed", False),
    ],
)
def test_a_note_that_speaks_of_sugar_is_asked_about(note, asks):
    told = (
        "The note mentions sugar: did you feed it? "
        "If so, write the event fed too; if not, not-fed.",
    )
    assert asked(*DONE, note=note) == told * asks
    assert asked(*DONE, note=note, event="fed") == ()
    assert asked(*DONE, note=note, event="not-fed") == ()


@pytest.mark.parametrize(
    ("note", "asks"),
    [
        ("with apple juice", True),
        ("unfermented must", True),
        ("0.3 l with fresh must", True),
        ("with last year's plum wine", False),
        ("must do it again", False),
        ("", False),
    ],
)
def test_juice_or_must_called_wine_is_asked_about(note, asks):
    assert bool(asked(*DONE, note=note, event="topped-up", added_l=0.3)) == asks


def test_wine_poured_back_without_its_litres_is_asked_about():
    jar = diary(*DONE, {"day": 30, "event": "bottled", "litres": 4.0})
    for litres, asks in ((None, True), (8.5, False)):
        back = diary({"day": 31, "event": "poured-back", "litres": litres}).visits[0]
        texts = [d.text for d in doubts(jar, back, now=back.when) if d.code == "litres"]
        assert bool(texts) is asks
