import pytest

from bubblerate.diary.events import Event
from bubblerate.diary.typed import extras_of, typed_litres, typed_temp, writable
from bubblerate.errors import InputError


def test_what_was_not_given_is_none():
    assert (typed_temp(None), typed_litres(None), extras_of(Event.FED, {"sugar_g": None})) == (
        None,
        None,
        {},
    )


def test_a_temperature_is_kept_to_a_tenth_and_a_volume_in_litres():
    assert (typed_temp("65F"), typed_litres("750ml")) == (18.3, 0.75)


@pytest.mark.parametrize(
    ("event", "typed", "columns"),
    [
        (Event.FED, {"sugar_g": "50g", "added_l": "300ml"}, {"sugar_g": 50.0, "added_l": 0.3}),
        (
            Event.BOTTLED,
            {"bottles": "6x75cl", "closure": "cork"},
            {"bottles": "6x75", "closure": "cork"},
        ),
    ],
)
def test_what_goes_with_an_event_fills_its_column(event, typed, columns):
    assert extras_of(event, typed) == columns


@pytest.mark.parametrize(
    "column", ["added_l", "sugar_g", "bottles", "closure", "sulphite_g", "sorbate_g"]
)
def test_what_does_not_go_with_an_event_is_refused(column):
    with pytest.raises(InputError, match=r"goes with .*, not clear"):
        extras_of(Event.CLEAR, {column: "1"})


def test_a_row_that_no_diary_can_hold_is_told_as_what_was_typed():
    with pytest.raises(InputError, match="cannot be written down: too many"), writable():
        raise ValueError("too many")
