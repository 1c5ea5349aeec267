"""Facts without the curve."""

import pytest

from bubblerate.verdict.facts import Act, Facts, Warmth, gather_facts

from cases import counts, facts
from scenes import evening

COLD = [
    (11.0, 11.0, True),
    (14.0, 19.0, True),
    (16.0, 19.0, False),
    (19.0, None, False),
    (None, 19.0, False),
]


@pytest.mark.parametrize(("temp_c", "usual_c", "expected"), COLD)
def test_what_counts_as_cold(temp_c, usual_c, expected):
    assert Warmth(temp_c=temp_c, usual_c=usual_c).cold is expected


def test_a_temperature_of_last_week_is_not_that_of_today():
    assert facts(*counts(9, 8, 7, temp_c=8.0), at=9.0).warmth.temp_c is None
    assert facts(*counts(9, 8, 7, temp_c=8.0), at=5.0).warmth.temp_c == 8.0


def test_the_latest_temperature_is_that_of_today():
    rows = [{"day": float(d), "temp_c": t} for d, t in enumerate((19.0, 8.0))]
    assert facts(*rows).warmth.temp_c == 8.0


def test_the_warmth_it_worked_at_is_that_of_its_busy_evenings():
    rows = [*counts(20, 18, 15, temp_c=21.0), *({"day": d, "temp_c": 15.0} for d in range(4, 40))]
    assert facts(*rows).warmth.worked_c == 21.0
    assert facts(*rows).warmth.usual_c == 15.0


def test_sugar_added_long_after_undoes_the_stabilising():
    stabilised = {"day": 0.0, "event": "stabilised"}
    assert facts(stabilised, {"day": 3.0, "event": "fed"}).acts.stabilised_at == evening(0)
    assert facts(stabilised, {"day": 90.0, "event": "fed"}).acts.stabilised_at is None


def test_counts_before_a_racking_show_nothing_of_what_came_after():
    rows = [*counts(9, 8, 7), {"day": 3.0, "event": "racked"}, {"day": 6.0, "bubbles": 0}]
    found = facts(*rows)
    assert found.airlock.quiet.counts == 1
    assert not found.airlock.seen_working
    assert found.acts.broken == Act("racked", evening(3))
    assert found.acts.racked_at == evening(3)


@pytest.mark.parametrize("event", ["sulphited", "stabilised", "fined"])
def test_yeast_may_be_stunned_for_two_weeks(event):
    rows = [*counts(9, 8, 7), {"day": 3.0, "event": event}]
    assert facts(*rows, at=10.0).acts.stunned == Act(event, evening(3))
    assert facts(*rows, at=17.0).acts.stunned is None


def test_an_empty_diary_has_no_facts():
    found = gather_facts((), None, at=evening(0), threshold_per_min=1.0)
    assert found == Facts()
