"""Which counts make the tail."""

import numpy as np
import pytest

from bubblerate.diary.events import BREAKS, NEW_SUGAR
from bubblerate.ferment.priors import UNSETTLED_HOURS
from bubblerate.ferment.tail import find_tail

from scenes import evening, visits


def counts(*bubbles: int, first: float = 0.0) -> list[dict[str, object]]:
    return [{"day": first + d, "bubbles": n} for d, n in enumerate(bubbles)]


def test_the_tail_begins_at_the_peak():
    found = find_tail(visits(*counts(2, 14, 31, 40, 38, 20, 9, 4)))
    assert found.start == evening(3)
    assert list(found.bubbles) == [40, 38, 20, 9, 4]
    assert list(found.days) == [0, 1, 2, 3, 4]


def test_one_wild_count_is_no_peak():
    found = find_tail(visits(*counts(30, 28, 22, 15, 150, 8, 5, 3)))
    assert found.start < evening(2)


def test_the_longer_of_two_equal_counts_is_not_the_faster():
    found = find_tail(
        visits({"day": 0, "bubbles": 12}, {"day": 1, "bubbles": 12, "seconds": 120.0})
    )
    assert found.start == evening(0)


@pytest.mark.parametrize("event", sorted(NEW_SUGAR))
def test_counts_before_more_sugar_are_left_out(event):
    before, after = counts(40, 30, 20), counts(12, 9, 7, 5, first=6.0)
    found = find_tail(visits(*before, {"day": 3.0, "event": event}, *after))
    assert found.start == evening(6)
    assert len(found) == 4


@pytest.mark.parametrize("event", sorted(BREAKS - NEW_SUGAR))
def test_another_airlock_or_place_begins_a_new_stretch_of_the_same_sugar(event):
    before, after = counts(40, 30, 20), counts(12, 9, 7, 5, first=6.0)
    found = find_tail(visits(*before, {"day": 3.0, "event": event}, *after))
    assert found.start == evening(0)
    assert list(found.stretch) == [1, 1, 1, 0, 0, 0, 0]


def test_no_more_than_three_stretches_are_told_apart():
    rows = []
    for lot in range(5):
        rows += [*counts(40 - 4 * lot, first=2.0 * lot), {"day": 2.0 * lot + 1, "event": "moved"}]
    assert list(find_tail(visits(*rows)).stretch) == [1, 1, 1, 1, 0]


def test_a_count_in_the_row_of_a_break_was_made_before_it():
    rows = [*counts(40, 30, 20), {"day": 3.0, "bubbles": 15, "event": "racked"}]
    found = find_tail(visits(*rows, {"day": 6.0, "bubbles": 9}))
    assert list(found.stretch) == [1, 1, 1, 1, 0]
    fed = [*counts(40, 30, 20), {"day": 3.0, "bubbles": 15, "event": "fed"}]
    assert find_tail(visits(*fed)) is None


@pytest.mark.parametrize("event", sorted(UNSETTLED_HOURS))
def test_the_evening_after_a_disturbance_says_less_and_makes_no_peak(event):
    rows = [*counts(40, 30, 20, 90, 11, 8), {"day": 2.01, "event": event}]
    found = find_tail(visits(*sorted(rows, key=lambda row: row["day"])))
    assert found.start == evening(0)
    assert list(found.trust == 1.0) == [True, True, True, False, True, True]
    assert found.trusted == 5


def test_a_count_on_the_evening_of_a_sample_was_made_before_it():
    rows = [*counts(40, 30), {"day": 2.0, "bubbles": 20, "sg": 1.02, "event": "sampled"}]
    assert list(find_tail(visits(*rows)).bubbles) == [40, 30, 20]


def test_a_ferment_begun_anew_has_a_new_peak():
    found = find_tail(visits(*counts(40, 30, 12, 5, 2, 1, 6, 12, 19, 17, 13, 9)))
    assert evening(7) <= found.start <= evening(9)


def test_chance_among_few_bubbles_begins_nothing_anew():
    found = find_tail(visits(*counts(40, 30, 12, 5, 2, 0, 0, 1, 1, 1, 0)))
    assert found.start <= evening(1)


def test_warm_evenings_begin_nothing_anew():
    rates, temps = (40, 30, 20, 14, 6, 5, 4, 20, 19, 18), (20, 20, 20, 20, 9, 9, 9, 30, 30, 30)
    rows = [{**row, "temp_c": t} for row, t in zip(counts(*rates), temps, strict=True)]
    assert find_tail(visits(*rows)).start <= evening(1)


def test_temperatures_are_filled_from_the_neighbours_and_counted_from_the_usual():
    temps = (18.0, None, 20.0, 18.0, None)
    rows = [{**row, "temp_c": t} for row, t in zip(counts(9, 8, 7, 6, 5), temps, strict=True)]
    found = find_tail(visits(*rows))
    assert found.usual_c == 18.0
    np.testing.assert_allclose(found.temp_offset_10c, [0.0, 0.1, 0.2, 0.0, 0.0])


def test_counts_made_in_deep_cold_are_not_trusted():
    temps = (18.0, 18.0, 18.0, 8.0, 8.0)
    rows = [{**row, "temp_c": t} for row, t in zip(counts(9, 8, 7, 0, 0), temps, strict=True)]
    found = find_tail(visits(*rows))
    assert list(found.trust) == [1, 1, 1, 0, 0]
    assert found.trusted == 3


def test_a_cellar_that_is_always_cold_is_trusted():
    rows = [{**row, "temp_c": 10.0} for row in counts(9, 8, 7, 6)]
    assert find_tail(visits(*rows)).trusted == 4


def test_nothing_counted_is_no_tail():
    assert find_tail(visits({"day": 0, "event": "pitched"}, {"day": 1, "sg": 1.08})) is None
    assert find_tail(()) is None


def test_the_arrays_cannot_be_changed():
    found = find_tail(visits(*counts(9, 8, 7)))
    with pytest.raises(ValueError, match="read-only"):
        found.bubbles[0] = 1.0


def test_ten_thousand_counts_are_taken_together_and_none_is_lost():
    rows = [{"day": d / 24.0, "bubbles": 40 - d // 300, "seconds": 60.0} for d in range(10_000)]
    found = find_tail(visits(*rows))
    assert len(found) <= 400
    assert found.bubbles.sum() == pytest.approx(sum(row["bubbles"] for row in rows), rel=0.03)
    assert found.day_of(evening(9_999 / 24.0)) == pytest.approx(found.days[-1])
    assert found.days[0] == 0.0
