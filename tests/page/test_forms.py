from datetime import timedelta

import pytest

from bubblerate.diary.events import Event
from bubblerate.diary.shelf import shelf_at
from bubblerate.errors import InputError
from bubblerate.page.forms import Form

from phones import NOW, shelf_in

KEY = "0123456789abcdef"


def form(what="tally", **fields):
    return Form(jar="fig", what=what, fields={"key": KEY} | fields)


@pytest.mark.parametrize(
    ("what", "fields", "held"),
    [
        ("tally", {"count": "12 in 90s"}, {"bubbles": 12, "seconds": 90.0}),
        ("tally", {"count": "every 55s", "temp": "65F"}, {"bubbles": 1, "temp_c": 18.3}),
        ("tally", {"count": "none in 5m", "note": "still"}, {"bubbles": 0, "note": "still"}),
        (
            "gravity",
            {"gravity": "1004 at 17C"},
            {"sg": 1.004, "sample_c": 17.0, "event": Event.SAMPLED},
        ),
        ("gravity", {"gravity": "4 Oe"}, {"sg": 1.004}),
        ("event", {"event": "racked off", "litres": "4.3"}, {"event": Event.RACKED, "litres": 4.3}),
        (
            "event",
            {"event": "bottled", "bottles": "6x75cl", "closure": "cork"},
            {"bottles": "6x75"},
        ),
        ("event", {"event": "fed", "sugar": "50g"}, {"sugar_g": 50.0}),
        (
            "tally",
            {"count": "7", "gravity": ".998", "event": "clear"},
            {"sg": 0.998, "event": Event.CLEAR},
        ),
    ],
)
def test_a_form_is_read_in_the_words_of_the_commands(what, fields, held):
    visit = form(what, **fields).visit(NOW)
    assert visit.when == NOW
    assert {name: getattr(visit, name) for name in held} == held


@pytest.mark.parametrize(
    ("what", "fields", "why"),
    [
        ("tally", {}, "cannot read"),
        ("tally", {"temp": "18"}, "cannot read"),
        ("tally", {"count": "twelve"}, "write 12 in 90s"),
        ("tally", {"count": "12", "temp": "warm"}, "temperature"),
        ("tally", {"count": "12", "note": "a\0b"}, "no NUL"),
        ("gravity", {}, "gravity"),
        ("gravity", {"gravity": "1.9"}, "gravity"),
        ("gravity", {"gravity": "8 Brix"}, "refractometer"),
        ("event", {}, "no event"),
        ("event", {"event": "sung to"}, "write one of"),
        ("event", {"event": "racked", "sugar": "50g"}, "goes with"),
        ("tally", {"count": "12", "sugar": "50g"}, "choose what you did"),
        ("event", {"event": "racked", "litres": "a lot"}, "as a volume"),
    ],
)
def test_what_cannot_be_read_is_refused_in_one_line(what, fields, why):
    with pytest.raises(InputError, match=why) as refused:
        form(what, **fields).visit(NOW)
    assert "\n" not in str(refused.value)


# --- when ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("fields", "ago"),
    [
        ({}, timedelta(0)),
        ({"ago": "90"}, timedelta(seconds=90)),
        ({"ago": "99999999"}, timedelta(days=30)),
        ({"when": "2026-10-19T21:00Z", "ago": "90"}, timedelta(days=1)),
    ],
)
def test_a_row_is_of_now_of_so_long_ago_or_of_what_was_typed(tmp_path, fields, ago):
    shelf = shelf_at(shelf_in(tmp_path))
    assert form(**fields).moment(shelf, "fig.csv", now=NOW).when == NOW - ago


@pytest.mark.parametrize(
    "fields", [{"ago": "-1"}, {"ago": "soon"}, {"ago": "1" * 9}, {"when": "soon"}]
)
def test_a_moment_that_is_none_is_refused(tmp_path, fields):
    with pytest.raises(InputError, match="cannot read"):
        form(**fields).moment(shelf_at(shelf_in(tmp_path)), "fig.csv", now=NOW)


# --- which entry ---------------------------------------------------------------------------------


def test_the_same_form_has_the_same_mark_however_late_it_comes():
    assert form(count="12").mark == form(count="12", ago="3600").mark


def test_any_other_entry_has_another_mark():
    marks = {
        form(count="12").mark,
        form(count="13").mark,
        form(count="12", temp="18").mark,
        form("event", count="12").mark,
        Form(jar="plum", what="tally", fields={"key": KEY, "count": "12"}).mark,
        form(count="12", key=KEY.upper()).mark,
    }
    assert len(marks) == 6


@pytest.mark.parametrize("key", ["", "short", "x" * 65, "0123456789abcde\n", "0123456789 abcdef"])
def test_a_form_without_a_key_is_out_of_date(key):
    with pytest.raises(InputError, match="open the page again"):
        _ = form(key=key).mark
