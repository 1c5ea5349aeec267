"""Doses of one wine: as ranges, or refused."""

from datetime import timedelta

import pytest

from bubblerate.course.balance import Sweetness, balance
from bubblerate.course.doses import stabilise, sweeten, tablets
from bubblerate.course.judgement import judge
from bubblerate.course.sparkling import prime
from bubblerate.diary.outcomes import Opened
from bubblerate.diary.settings import Settings, VesselSettings
from bubblerate.errors import InputError

from kept import Kept, event
from scenes import diary, evening

DONE = Kept()
ASKED = evening(128.2)


def asked(*more, kept=DONE, at=ASKED, **known):
    rows = sorted([*kept.rows, *more], key=lambda row: row["day"])
    said = Settings(vessels={"fig": VesselSettings(finish=0.996, style="dry wine", **known)})
    jar = Opened(diary(*rows), said, ())
    judged = judge(jar.diary, at=at, settings=said)
    return judged, balance(jar, at=at)


# By hand: 0.994 to 1.010 are 16 points, at 2.62 g/L a point in 4.5 L 189 g; a point is 12 g.
def test_sugar_for_a_gravity_is_good_to_the_point_of_a_reading():
    found = sweeten(*asked(), litres=4.5, to=1.010)
    low, high = found.sugar_g
    assert (low + high) / 2.0 == pytest.approx(189.0, abs=3.0)
    assert high - low == pytest.approx(24.0, abs=1.0)
    assert found.sg == pytest.approx(1.010, abs=0.0003)
    assert not found.held


# By hand: 25 g/L in 4.5 L are 112 g, less what is in it.
def test_sugar_for_a_word_fills_up_what_is_there():
    low, high = sweeten(*asked(), litres=4.5, to=Sweetness.SEMI_SWEET).sugar_g
    assert 60.0 < low < high <= 112.6


@pytest.mark.parametrize(
    ("to", "why"), [(0.990, "0.990 is not above it"), (Sweetness.DRY, "already that sweet")]
)
def test_no_sugar_where_it_is_as_sweet(to, why):
    with pytest.raises(InputError, match=why):
        sweeten(*asked(), litres=4.5, to=to)


def test_without_litres_no_grams_are_made_up():
    for call in (
        lambda: sweeten(*asked(), litres=None, to=1.010),
        lambda: stabilise(*asked(), litres=None, ph=3.4),
    ):
        with pytest.raises(InputError, match="add --litres"):
            call()


# Univ. of California Cooperative Extension: 32 mg/L at pH 3.4; 21 at 3.2, 50 at 3.6.
def test_sulphite_goes_by_its_ph_and_sorbate_by_its_litres():
    found = stabilise(*asked(), litres=4.5, ph=3.4)
    low, high = found.sulphite.mg_per_litre
    assert 21.0 < low < 32.0 < high < 50.0
    assert found.sulphite.powder_g[1] == pytest.approx(high * 4.5 / 1000.0 / 0.5763, rel=0.001)
    assert found.sorbate_g == pytest.approx((0.75, 1.21), abs=0.01)
    assert (found.hold_until, found.hold_day) == (None, None)
    assert tablets(found.sulphite.powder_g)[0] == pytest.approx(low * 4.5 / 576.3 / 0.44, rel=0.01)


def test_the_hold_is_counted_down():
    judged, holds = asked(event(28.1, "stabilised"), at=ASKED + timedelta(days=9))
    found = stabilise(judged, holds, litres=4.5, ph=None)
    assert found.sulphite is None
    assert found.hold_day == 9
    assert (found.hold_until - judged.course.asked_on).days == 5


@pytest.mark.parametrize(
    "call",
    [
        lambda judged, holds: stabilise(judged, holds, litres=4.5, ph=3.4),
        lambda judged, holds: sweeten(judged, holds, litres=4.5, to=1.01),
    ],
    ids=["stabilise", "sweeten"],
)
def test_a_working_wine_gets_no_dose(call):
    rows = [event(day, None, bubbles=40, seconds=300.0) for day in (29, 30)]
    found = asked(*rows, at=evening(131))
    with pytest.raises(InputError, match="nothing stops an active ferment"):
        call(*found)


def test_must_gets_no_sorbate():
    rows = diary({"day": 0, "event": "pitched", "sg": 1.085, "litres": 4.5})
    judged = judge(rows, at=evening(1), settings=Settings())
    with pytest.raises(InputError, match="has not been read since it went quiet"):
        stabilise(judged, None, litres=4.5, ph=3.4)


def test_a_wine_in_bottles_gets_no_dose():
    judged, _ = asked(event(28.1, "bottled", bottles="6x75", closure="cork"))
    with pytest.raises(InputError, match="is in bottles"):
        stabilise(judged, None, litres=4.5, ph=3.4)


# --- to sparkle on purpose -----------------------------------------------------------------------


def test_a_proven_wine_may_sparkle_within_what_its_bottle_holds():
    found = prime(*asked(), litres=4.5, over_bar=2.0)
    assert found.sugar_g == pytest.approx(4.5 * found.g_per_litre)
    assert 2.0 < found.g_per_litre < 6.0
    low, high = found.bar
    assert low < 2.0 < high <= 2.74


@pytest.mark.parametrize(
    ("more", "bar", "why"),
    [
        ([], 2.75, "said to hold"),
        ([], 1.0, "said to hold"),
        ([], 2.73, "ask for less"),
        ([event(20, "stabilised")], 2.0, "was stabilised"),
        ([event(28.1, "prickle"), event(28.11, "fed", sugar_g=50.0)], 2.0, "not proven"),
    ],
)
def test_what_could_burst_is_refused(more, bar, why):
    judged, holds = asked(*more)
    with pytest.raises(InputError, match=why):
        prime(judged, holds, litres=4.5, over_bar=bar)


# --- what was put in before counts ---------------------------------------------------------------


# By hand: 0.8 g of the salt hold 0.597 g of acid, 133 mg/L in 4.5 L: above the 125 that do; with
# ten parts in a hundred of the weighing, some may lack still, and 200 less 150 is 0.3 g.
def test_sorbate_fills_up_what_is_in_it():
    judged, holds = asked(event(28.1, "stabilised", sorbate_g=0.8, sulphite_g=0.44))
    low, high = stabilise(judged, holds, litres=4.5, ph=3.4).sorbate_g
    assert low < 0.1
    assert high == pytest.approx((200.0 - 150.0) * 4.5 / 746.4, abs=0.1)
    full = asked(event(28.1, "stabilised", sorbate_g=1.4))
    assert stabilise(*full, litres=4.5, ph=3.4).sorbate_g == (0.0, 0.0)


# By hand: two tablets in 4.5 L are 113 mg/L of SO2, at most a tenth or so more.
def test_sulphite_is_summed_up_with_what_went_in_before():
    rows = [event(28.1, "sulphited", sulphite_g=0.44), event(28.2, "sulphited", sulphite_g=0.44)]
    judged, holds = asked(*rows)
    found = stabilise(judged, holds, litres=4.5, ph=3.4)
    high = found.sulphite.mg_per_litre[1]
    assert found.so2_most_mg_per_litre == pytest.approx(113.0 + high, rel=0.12)
    lacking = stabilise(judged, holds, litres=4.5, ph=3.4, free_mg_per_litre=20.0).sulphite
    assert lacking.powder_g[1] == pytest.approx((high - 20.0) * 4.5 / 576.3, rel=0.001)
    assert stabilise(
        judged, holds, litres=4.5, ph=3.4, free_mg_per_litre=60.0
    ).sulphite.powder_g == (0.0, 0.0)
