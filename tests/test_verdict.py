"""The verdict as a table of the trade: one row a situation, first of the facts, then of diaries."""

from dataclasses import replace
from datetime import timedelta
from itertools import product

import pytest

from bubblerate.diary.settings import Settings, VesselSettings
from bubblerate.ferment.forecast import Crossing, Forecast, Span
from bubblerate.ferment.gravity import Reading
from bubblerate.ferment.gravity_check import GravityCheck
from bubblerate.verdict.case import STEADINESS, Case
from bubblerate.verdict.decide import verdict
from bubblerate.verdict.facts import Signs
from bubblerate.verdict.judgement import judge

from conftest import START, diary, evening

NOW = evening(30)


def days_ago(days):
    return NOW - timedelta(days=days)


def bubbling(p_below, per_min=0.3):
    """A forecast that gives this chance of being below the threshold."""
    crossing = Crossing(
        threshold_per_min=1.0,
        low95=evening(31),
        low80=evening(32),
        median=evening(34),
        high80=evening(37),
        high95=evening(40),
        p_already=p_below,
        p_not_in_60_days=0.0,
    )
    rate = Span(low80=0.8 * per_min, median=per_min, high80=1.2 * per_min)
    return Forecast(
        at=NOW,
        per_min=rate,
        crossing=crossing,
        threshold_points_per_day=None,
        points_to_fall=None,
        finish_sg=None,
        bubble_ml=None,
        distrust="",
    )


def read(
    *pairs, steady=None, finish=None, leak=False, gas_only=False, steady_days=None, most_fallen=None
):
    """Gravity readings as (days ago, sg), oldest first, and what was made of them."""
    seen = tuple(Reading(when=days_ago(d), sg=sg, temp_c=18.0) for d, sg in pairs)
    fall = None if len(seen) < 2 else (seen[-2].sg - seen[-1].sg) * 1000.0
    days = None if len(seen) < 2 else pairs[-2][0] - pairs[-1][0]
    span = steady_days if steady_days is not None else (pairs[0][0] - pairs[-1][0] if steady else 0)
    return GravityCheck(
        readings=seen,
        finish_sg=0.998 if finish is None else finish,
        finish_known=finish is not None,
        steady=steady,
        steady_days=float(span),
        steady_since=seen[-1].when - timedelta(days=span),
        fall_points=fall,
        fall_days=days,
        most_fallen_points=most_fallen,
        leak=leak,
        gas_only=gas_only,
    )


SEEN = {
    "counts": 9,
    "last_count_at": days_ago(0),
    "seen_working": True,
    "peak_at": days_ago(25),
    "bubbling_counts": 9,
    "quiet_counts": 6,
    "quiet_days": 5.0,
    "quiet_seconds": 1800.0,
    "temp_c": 19.0,
    "usual_c": 19.0,
    "worked_c": 19.0,
    "recent_seconds": 3600.0,
    "recent_days": 13.0,
    "surely_per_min": 0.0,
    "coldest_c": 18.0,
    "warmth_days": 14.0,
}


def answer(question="racking", forecast=None, gravity=None, **facts):
    case = Case(
        vessel="fig",
        asked_at=NOW,
        question=question,
        threshold_per_min=1.0,
        signs=Signs(**{**SEEN, **facts}),
        forecast=forecast,
        gravity=gravity,
    )
    v = verdict(case)
    return v.answer, v.firmness, v.reasons[0].code


QUIET, NEAR, LIKELY, BUSY = bubbling(0.98), bubbling(0.6, 1.0), bubbling(0.85), bubbling(0.01, 4.0)
LOW = read((0, 1.000))
STEADY = read((5, 0.997), (0, 0.997), steady=True)
STEADY_ABOVE = read((5, 1.006), (0, 1.006), steady=True)
STUCK = read((5, 1.024), (0, 1.024), steady=True)
FALLING = read((3, 1.024), (0, 1.020), steady=False)
OLD_START = read((30, 1.085))
OLD_HIGH = read((16, 1.030))
PITCHED_AT = (30, 1.085)

RACKING = [
    # what stands there                     forecast, gravity, facts        -> answer
    ("both agree", QUIET, STEADY, {}, ("go", "both", "gravity-steady")),
    ("quiet, one low reading", QUIET, LOW, {}, ("go", "both", "gravity-low")),
    ("quiet, no hydrometer", QUIET, None, {}, ("go", "bubbles", "below-threshold")),
    ("quiet, gravity of the start only", QUIET, OLD_START, {}, ("go", "bubbles", "below-threshold")),
    ("likely quiet, steady", LIKELY, STEADY, {}, ("go", "both", "gravity-steady")),
    ("likely quiet, alone", LIKELY, None, {}, ("wait", "none", "below-threshold")),
    ("near the threshold", NEAR, None, {}, ("wait", "bubbles", "near-threshold")),
    ("bubbling", BUSY, None, {}, ("wait", "bubbles", "above-threshold")),
    ("bubbling, one low reading", BUSY, LOW, {}, ("wait", "bubbles", "above-threshold")),
    ("bubbling, steady but not done", BUSY, STEADY_ABOVE, {}, ("wait", "bubbles", "above-threshold")),
    ("a few bubbles of gas", bubbling(0.1, 1.4), STEADY, {}, ("go", "gravity", "gravity-steady")),
    ("far too many bubbles for gas", BUSY, STEADY, {}, ("wait", "bubbles", "above-threshold")),
    ("nothing counted, steady", None, STEADY, {"last_count_at": None}, ("go", "gravity", "gravity-steady")),
    ("nothing at all", None, None, {"last_count_at": None}, ("wait", "none", "no-counts")),
    ("too few counts", None, None, {"counts": 2}, ("wait", "none", "few-counts")),
    ("no curve to be found", None, None, {}, ("wait", "none", "no-curve")),
    ("no curve to be found, gravity low", None, LOW, {}, ("wait", "none", "no-curve")),
    ("too few counts, gravity low", None, LOW, {"counts": 2}, ("wait", "none", "few-counts")),
    ("no counts, gravity low", None, LOW, {"last_count_at": None}, ("wait", "none", "no-counts")),
    ("old counts, gravity low", QUIET, LOW, {"last_count_at": days_ago(6)}, ("wait", "none", "stale-count")),
    ("stunned last week, gravity low", QUIET, LOW, {"stunned": ("sulphited", days_ago(5))}, ("wait", "none", "stunned")),
    ("cold and silent, gravity low", QUIET, LOW, {"temp_c": 8.0}, ("wait", "none", "cold-pause")),
    ("never seen at work, gravity low", QUIET, LOW, {"seen_working": False}, ("wait", "none", "never-seen-working")),
    ("counts of last week", QUIET, None, {"last_count_at": days_ago(6)}, ("wait", "none", "stale-count")),
    ("quiet, gravity falling", QUIET, FALLING, {}, ("wait", "gravity", "gravity-falling")),
    ("quiet, gravity high", QUIET, read((0, 1.020)), {}, ("wait", "gravity", "quiet-but-high")),
    ("slow bubble at 1.039", bubbling(0.9, 0.83), read((0, 1.039)), {}, ("wait", "gravity", "quiet-but-high")),
    ("three equal readings at 1.070", QUIET, read((6, 1.07), (3, 1.07), (0, 1.07), steady=True), {}, ("wait", "gravity", "stuck")),
    ("stuck", QUIET, STUCK, {}, ("wait", "gravity", "stuck")),
    ("steady for three days but bubbling", BUSY, STUCK, {}, ("wait", "both", "gravity-high")),
    ("a high reading of its way down", QUIET, OLD_HIGH, {}, ("wait", "none", "old-reading")),
    ("leak", QUIET, read((4, 1.008), (0, 1.002), leak=True), {}, ("wait", "gravity", "leak")),
    ("gravity rose", QUIET, read((4, 0.998), (0, 1.004)), {}, ("wait", "gravity", "gravity-rose")),
    ("more bubbles than fall", QUIET, read((4, 1.006), (0, 1.006), steady=True, gas_only=True), {}, ("wait", "gravity", "stories-differ")),
    ("cold and silent", QUIET, None, {"temp_c": 8.0}, ("wait", "none", "cold-pause")),
    ("colder than usual", QUIET, None, {"temp_c": 14.0, "usual_c": 21.0}, ("wait", "none", "cold-pause")),
    ("cold, steady, not done", QUIET, STEADY_ABOVE, {"temp_c": 8.0}, ("wait", "none", "cold-pause")),
    ("cold, steady at its finish", QUIET, STEADY, {"temp_c": 8.0}, ("go", "gravity", "gravity-steady")),
    ("fell silent in a day", QUIET, None, {"sudden": True}, ("wait", "none", "sudden-quiet")),
    ("silent in a day, gravity at its finish", QUIET, LOW, {"sudden": True}, ("go", "both", "gravity-low")),
    ("silent in a day, gravity low", QUIET, read((0, 1.005)), {"sudden": True}, ("wait", "none", "sudden-quiet")),
    ("silent in a day, gravity steady", QUIET, STEADY_ABOVE, {"sudden": True}, ("go", "gravity", "gravity-steady")),
    ("its slowing was not seen", QUIET, None, {"bubbling_counts": 2}, ("wait", "none", "slowing-unseen")),
    ("the bubbles since the start are too few", QUIET, read((30, 1.085), most_fallen=37.0), {}, ("wait", "none", "old-reading")),
    ("the bubbles since the start suffice", QUIET, read((30, 1.085), most_fallen=90.0), {}, ("go", "bubbles", "below-threshold")),
    ("a high reading of its way down, accounted for", QUIET, read((16, 1.030), most_fallen=40.0), {}, ("wait", "none", "old-reading")),
    ("a finish set near the start", QUIET, read((30, 1.085), (5, 1.060), (0, 1.060), steady=True, finish=1.060), {}, ("wait", "gravity", "stuck")),
    ("steady a little above its finish", QUIET, read((5, 1.009), (0, 1.009), steady=True, finish=0.996), {}, ("wait", "gravity", "stuck")),
    ("steady as high, no finish set", QUIET, read((5, 1.009), (0, 1.009), steady=True), {}, ("go", "both", "gravity-steady")),
    ("quiet for one evening", QUIET, None, {"quiet_counts": 1, "quiet_days": 0.0}, ("wait", "none", "just-quiet")),
    ("quiet for one night's counts", QUIET, None, {"quiet_counts": 4, "quiet_days": 0.4}, ("wait", "none", "just-quiet")),
    ("quiet for a minute in all", QUIET, None, {"quiet_seconds": 60.0}, ("wait", "none", "just-quiet")),
    ("quiet for three minutes in all", QUIET, None, {"quiet_seconds": 180.0}, ("go", "bubbles", "below-threshold")),
    ("quiet for one evening, gravity low", QUIET, LOW, {"quiet_counts": 1, "quiet_days": 0.0}, ("go", "both", "gravity-low")),
    ("racked last week", QUIET, STEADY, {"racked_at": days_ago(8)}, ("wait", "none", "just-racked")),
    ("racked last month", QUIET, STEADY, {"racked_at": days_ago(29)}, ("go", "both", "gravity-steady")),
    ("likely quiet, a high reading of its way down", LIKELY, OLD_HIGH, {}, ("wait", "none", "old-reading")),
    ("a high reading, no peak known", QUIET, OLD_HIGH, {"peak_at": None}, ("wait", "none", "old-reading")),
    ("counts of five days ago", QUIET, None, {"last_count_at": days_ago(5)}, ("wait", "none", "stale-count")),
    ("counts of three days ago", QUIET, None, {"last_count_at": days_ago(3)}, ("go", "bubbles", "below-threshold")),
    ("nothing counted, steady long ago", None, read((25, 0.997), (20, 0.997), steady=True), {"last_count_at": None}, ("wait", "none", "no-counts")),
    ("a few bubbles too many for gas", bubbling(0.01, 3.5), STEADY, {}, ("wait", "bubbles", "above-threshold")),
    ("a few bubbles, steady but not done", bubbling(0.1, 1.4), STEADY_ABOVE, {}, ("wait", "bubbles", "near-threshold")),
    ("a forecast that cannot be believed", replace(QUIET, distrust="rough"), None, {}, ("wait", "none", "below-threshold")),
    ("gravity rose by three points", QUIET, read((4, 0.998), (0, 1.001)), {}, ("wait", "gravity", "gravity-rose")),
    ("gravity rose by two points", QUIET, read((4, 0.998), (0, 1.000)), {}, ("go", "both", "gravity-low")),
    ("at its finish, falling fast", QUIET, read((2, 1.003), (0, 1.000), steady=False), {}, ("wait", "gravity", "gravity-falling")),
    ("at its finish, the last of the fall", QUIET, read((5, 1.0025), (0, 1.000), steady=False), {}, ("go", "both", "gravity-low")),
    ("never seen at work", QUIET, None, {"seen_working": False}, ("wait", "none", "never-seen-working")),
    ("stunned last week", QUIET, None, {"stunned": ("sulphited", days_ago(5))}, ("wait", "none", "stunned")),
    ("sweet perry, as its maker expects", QUIET, read((5, 1.013), (0, 1.013), steady=True, finish=1.012), {}, ("go", "both", "gravity-steady")),
    ("in the bottle", QUIET, STEADY, {"bottled_at": days_ago(2)}, ("wait", "none", "bottled")),
]  # fmt: skip


@pytest.mark.parametrize(
    ("forecast", "gravity", "facts", "expected"),
    [row[1:] for row in RACKING],
    ids=[row[0] for row in RACKING],
)
def test_racking(forecast, gravity, facts, expected):
    assert answer("racking", forecast, gravity, **facts) == expected


PROVEN = read((20, 0.997), (10, 0.997), (0, 0.996), steady=True)
PROVEN_SWEET = read(PITCHED_AT, (20, 1.012), (0, 1.012), steady=True, steady_days=20)

BOTTLING = [
    ("all proven", QUIET, PROVEN, {}, ("go", "both", "gravity-steady")),
    ("proven, nothing counted of late", None, PROVEN, {"recent_seconds": 0.0, "recent_days": 0.0}, ("wait", "none", "few-counts")),
    ("proven, four minutes counted", QUIET, PROVEN, {"recent_seconds": 240.0}, ("wait", "none", "few-counts")),
    ("proven, counted on one evening", QUIET, PROVEN, {"recent_days": 0.1}, ("wait", "none", "few-counts")),
    ("its own sweet finish, start known", QUIET, read(PITCHED_AT, (20, 1.012), (0, 1.012), steady=True, finish=1.012, steady_days=20), {}, ("go", "both", "gravity-steady")),
    ("its own sweet finish, start unknown", QUIET, read((20, 1.012), (0, 1.012), steady=True, finish=1.012), {}, ("wait", "gravity", "sweetness-left")),
    ("a finish set at the start", QUIET, read((20, 1.035), (0, 1.035), steady=True, finish=1.035), {}, ("wait", "gravity", "sweetness-left")),
    ("half its sugar left, as its maker expects", QUIET, read((40, 1.060), (20, 1.035), (0, 1.035), steady=True, finish=1.035, steady_days=20), {}, ("wait", "gravity", "sweetness-left")),
    ("silence alone", QUIET, None, {}, ("wait", "none", "no-gravity")),
    ("proven, no curve to be found", None, PROVEN, {}, ("wait", "none", "no-curve")),
    ("proven lower than wine reads", QUIET, read((20, 0.970), (0, 0.970), steady=True), {}, ("wait", "gravity", "gravity-impossible")),
    ("proven very sweet, as its maker expects", QUIET, read(PITCHED_AT, (20, 1.030), (0, 1.030), steady=True, finish=1.030, steady_days=20), {}, ("wait", "gravity", "too-sweet")),
    ("silence and one reading", QUIET, LOW, {}, ("wait", "gravity", "gravity-unproven")),
    ("steady for five days", QUIET, read((5, 0.997), (0, 0.997), steady_days=5), {}, ("wait", "gravity", "gravity-unproven")),
    ("falling", QUIET, FALLING, {}, ("wait", "gravity", "gravity-unproven")),
    ("proven, two weeks ago", QUIET, read((34, 0.997), (14, 0.997), steady=True), {}, ("wait", "gravity", "old-reading")),
    ("stuck with sugar left", QUIET, PROVEN_SWEET, {}, ("wait", "gravity", "sweetness-left")),
    ("three points above the finish", QUIET, read((20, 0.999), (0, 0.999), steady=True, finish=0.996), {}, ("wait", "gravity", "sweetness-left")),
    ("sweet, stabilised before it was proven", QUIET, PROVEN_SWEET, {"stabilised_at": days_ago(25)}, ("go", "both", "gravity-steady")),
    ("sweet, stabilised since", QUIET, PROVEN_SWEET, {"stabilised_at": days_ago(15)}, ("wait", "gravity", "sweetness-left")),
    ("stabilised last week", QUIET, PROVEN, {"stunned": ("stabilised", days_ago(6))}, ("wait", "gravity", "stunned")),
    ("proven, read nine days ago", QUIET, read((29, 0.997), (9, 0.997), steady=True), {}, ("wait", "gravity", "old-reading")),
    ("proven, read six days ago", QUIET, read((26, 0.997), (6, 0.997), steady=True), {}, ("go", "both", "gravity-steady")),
    ("proven two and a half points above its finish", QUIET, read((20, 1.0005), (0, 1.0005), steady=True), {}, ("wait", "gravity", "sweetness-left")),
    ("proven in the cold", QUIET, PROVEN, {"coldest_c": 11.0}, ("wait", "gravity", "not-warm")),
    ("proven colder than it worked", QUIET, PROVEN, {"coldest_c": 15.0, "worked_c": 20.0}, ("wait", "gravity", "not-warm")),
    ("no temperatures", QUIET, PROVEN, {"coldest_c": None, "warmth_days": 0.0}, ("wait", "gravity", "warmth-unknown")),
    ("temperatures of one evening", QUIET, PROVEN, {"warmth_days": 0.1}, ("wait", "gravity", "warmth-unknown")),
    ("worked cool, proven as cool", QUIET, PROVEN, {"coldest_c": 15.0, "worked_c": 14.0}, ("go", "both", "gravity-steady")),
    ("proven at 14 C", QUIET, PROVEN, {"coldest_c": 14.0, "worked_c": 14.0}, ("wait", "gravity", "not-warm")),
    ("still bubbling", BUSY, PROVEN, {}, ("wait", "bubbles", "still-bubbling")),
    ("a count beyond weather", QUIET, PROVEN, {"surely_per_min": 0.12}, ("wait", "bubbles", "still-bubbling")),
    ("as few as weather makes", QUIET, PROVEN, {"surely_per_min": 0.09}, ("go", "both", "gravity-steady")),
    ("no curve, a count beyond weather", None, PROVEN, {"surely_per_min": 1.5}, ("wait", "bubbles", "still-bubbling")),
    ("a leak", QUIET, read((20, 0.997), (0, 0.997), steady=True, leak=True), {}, ("wait", "gravity", "stories-differ")),
    ("bubbles without a fall", QUIET, read((20, 0.997), (0, 0.997), steady=True, gas_only=True), {}, ("wait", "gravity", "stories-differ")),
    ("in the bottle", QUIET, PROVEN, {"bottled_at": days_ago(2)}, ("wait", "none", "bottled")),
]  # fmt: skip


@pytest.mark.parametrize(
    ("forecast", "gravity", "facts", "expected"),
    [row[1:] for row in BOTTLING],
    ids=[row[0] for row in BOTTLING],
)
def test_bottling(forecast, gravity, facts, expected):
    assert answer("bottling", forecast, gravity, **facts) == expected


EVERY_CASE = list(
    product(
        [None, QUIET, NEAR, LIKELY, BUSY],
        [None, LOW, STEADY, STEADY_ABOVE, STUCK, FALLING, OLD_START, OLD_HIGH, PROVEN],
        [{}, {"temp_c": 8.0}, {"sudden": True}, {"last_count_at": None}, {"counts": 0}],
    )
)


@pytest.mark.parametrize("question", ["racking", "bottling"])
def test_every_case_has_an_answer_with_reasons_and_a_next_step(question):
    for forecast, gravity, facts in EVERY_CASE:
        case = Case(
            vessel="fig",
            asked_at=NOW,
            question=question,
            threshold_per_min=1.0,
            signs=Signs(**{**SEEN, **facts}),
            forecast=forecast,
            gravity=gravity,
        )
        v = verdict(case)
        assert v.answer in ("go", "wait")
        assert v.reasons
        assert v.next.do
        assert v.next.on is None or v.next.on >= NOW.date()


def test_whatever_may_be_bottled_may_be_racked():
    for forecast, gravity, facts in EVERY_CASE:
        if answer("bottling", forecast, gravity, **facts)[0] == "go":  # PROVEN and QUIET, say
            assert answer("racking", forecast, gravity, **facts)[0] == "go"


def test_without_gravity_bottling_always_waits():
    for forecast, _, facts in EVERY_CASE:
        assert answer("bottling", forecast, None, **facts)[0] == "wait"


def test_bottling_asks_more_of_gravity_than_racking():
    assert STEADINESS["bottling"].days > STEADINESS["racking"].days
    assert STEADINESS["bottling"].points < STEADINESS["racking"].points


# --- whole diaries, from the rows to the answer --------------------------------------------------


def slowing(*rates, seconds=300.0, first=1.0, temp_c=19.0):
    """One count an evening, at these bubbles a minute."""
    return [
        {
            "day": first + d,
            "bubbles": round(r * seconds / 60.0),
            "seconds": seconds,
            "temp_c": temp_c,
        }
        for d, r in enumerate(rates)
    ]


PITCHED = {"day": 0.0, "event": "pitched", "sg": 1.085, "litres": 4.5}
SLOWED = slowing(12, 20, 24, 20, 15, 11, 8, 6, 4, 3, 2, 1.4, 1.0, 0.6, 0.4, 0.2, 0.2, 0.2)
SILENT = slowing(12, 20, 24, 20, 15, 11, 8, 6, 4, 0, 0, 0, 0, 0)
COLD = [{**row, "temp_c": 7.0} if row["bubbles"] == 0 else row for row in SILENT]
AT_72_S = slowing(12, 20, 24, 20, 15, 11, 8, 6, 4, 3, 2, 1.2, 0.83, 0.83, 0.83)


def sampled(day, sg):
    return {"day": day, "sg": sg, "temp_c": 19.0}


DIARIES = [
    ("a clean finish", [PITCHED, *SLOWED, sampled(15.1, 0.996), sampled(18.1, 0.996)], "go"),
    ("a clean finish, bubbles only", [PITCHED, *SLOWED], "go"),
    ("a quiet airlock at 1.020 and falling", [PITCHED, *SILENT, sampled(10.1, 1.026), sampled(14.1, 1.020)], "wait"),
    ("a quiet airlock at 1.009 and falling", [PITCHED, *SILENT, sampled(10.1, 1.015), sampled(14.1, 1.009)], "wait"),
    ("a bubble every 72 s at 1.039", [PITCHED, *AT_72_S, sampled(15.1, 1.039)], "wait"),
    ("a bubble every 72 s, 1.039 last week", [PITCHED, *AT_72_S, sampled(7.1, 1.039)], "wait"),
    ("three equal readings at 1.070", [PITCHED, *SLOWED, *(sampled(d + 0.1, 1.070) for d in (12, 15, 18))], "wait"),
    ("silence in a cold room", [PITCHED, *COLD], "wait"),
    ("silence in a cold room at 1.012", [PITCHED, *COLD, sampled(8.1, 1.012)], "wait"),
    ("sudden silence, nothing read", [PITCHED, *slowing(12, 20, 24, 22, 21, 20, 19, 0, 0, 0)], "wait"),
    ("never a bubble", [PITCHED, *slowing(0, 0, 0, 0, 0)], "wait"),
    ("in full swing", [PITCHED, *slowing(2, 9, 18, 24, 25)], "wait"),
    ("fed last night", [PITCHED, *SLOWED, {"day": 18.2, "event": "fed"}], "wait"),
    ("one count", [PITCHED, *slowing(0.2)], "wait"),
    ("only the start", [PITCHED], "wait"),
]  # fmt: skip


Z10 = [{"day": d, "bubbles": 0, "seconds": 600.0, "temp_c": 19.0} for d in range(19, 38)]
PROOF = [PITCHED, *SLOWED, *Z10, *(sampled(d + 0.1, 0.997) for d in (19, 30, 37))]
WITHOUT_COLD = [row for row in PROOF if "temp_c" not in row or row["day"] < 1.5]


def minutes(*bubbles, first):
    return [{"day": first + d, "bubbles": n, "temp_c": 19.0} for d, n in enumerate(bubbles)]


def at_temp(temp_c, low, high):
    return [{**r, "temp_c": temp_c} if low <= r["day"] < high else r for r in PROOF]


NOT_TO_BE_BOTTLED = [
    ("it wakes", [*PROOF, *minutes(2, 5, 5, first=38)]),
    ("it wakes tonight", [*PROOF, *minutes(9, first=38)]),
    ("it still works, and was racked tonight", [PITCHED, *slowing(*[3.0] * 40), *(sampled(d + 0.1, 0.997) for d in (19, 30, 40)), {"day": 40.2, "event": "racked"}]),
    ("it still works slowly, and has a new airlock", [PITCHED, *slowing(*[0.5] * 40), *(sampled(d + 0.1, 0.997) for d in (19, 30, 40)), {"day": 40.2, "event": "airlock"}]),
    ("readings only", [PITCHED, *(sampled(d, 0.997) for d in (19.1, 30.1, 37.1))]),
    ("half the proof stood in the cold", [*at_temp(8.0, 19, 28)]),
    ("temperatures of one evening only", [*WITHOUT_COLD, *(sampled(d, 0.997) for d in (38.1, 38.2))]),
    ("a new must in the same jar", [*PROOF, {"day": 38.0, "event": "pitched", "sg": 1.080}]),
    ("stabilised long before it was sweetened", [*PROOF, {"day": 38.0, "event": "stabilised"}, {"day": 138.0, "event": "fed"}, *({**r, "day": r["day"] + 120.0} for r in Z10), *(sampled(d, 1.020) for d in (139.1, 148.0, 157.1))]),
    ("it falls a little every day", [PITCHED, *SLOWED, *Z10, *(sampled(8.1 + d, round(0.999 - 0.00007 * d, 4)) for d in range(30))]),
]  # fmt: skip


@pytest.mark.parametrize(
    "rows", [d[1] for d in NOT_TO_BE_BOTTLED], ids=[d[0] for d in NOT_TO_BE_BOTTLED]
)
def test_bottles_that_would_burst(rows):
    assert asked(PROOF, "bottling").answer == "go"
    assert asked(rows, "bottling").answer == "wait"


NOT_TO_BE_RACKED = [
    ("daily readings fall 1.5 a day", [PITCHED, *slowing(12, 20, 24, 22, 21, 20, 19, 18, 0, 0, 0, 0, 0, 0, 0), *(sampled(12.1 + d, 1.010 - 0.0015 * d) for d in range(4))]),
    ("silent since a new airlock", [PITCHED, *slowing(12, 20, 20, 20, 20, 20), {"day": 6.5, "event": "airlock"}, *slowing(0, 0, 0, 0, 0, 0, first=9.0)]),
    ("silent since it was fed", [PITCHED, *slowing(12, 20, 20, 20, 20, 20), {"day": 6.5, "event": "fed"}, *slowing(0, 0, 0, 0, 0, 0, first=9.0)]),
    ("a leak from the first day", [PITCHED, *slowing(1, 2, 3, 2.6, 2.2, 1.8, 1.5, 1.2, 1, 0.8, 0.6, 0.4, 0.3, 0.2, 0.2)]),
    ("one count, then silence", [PITCHED, *minutes(12, first=1), *minutes(0, 0, 0, first=5)]),
    ("a leap down and three quiet evenings", [PITCHED, *slowing(31, 27, 22, 21, 16, 3, 2, 1, 0, 0, 0, 0)]),
    ("racked last week", [PITCHED, *SLOWED, sampled(18.1, 0.996), {"day": 18.3, "event": "racked"}, *slowing(0, 0, 0, first=22.0)]),
]  # fmt: skip


@pytest.mark.parametrize(
    "rows", [d[1] for d in NOT_TO_BE_RACKED], ids=[d[0] for d in NOT_TO_BE_RACKED]
)
def test_jars_that_want_time(rows):
    assert asked(rows).answer == "wait"


def asked(rows, question="racking"):
    rows = sorted(rows, key=lambda row: row["day"])
    return judge(diary(*rows), at=evening(rows[-1]["day"] + 0.2), question=question).verdict


@pytest.mark.parametrize(
    ("rows", "expected"), [d[1:] for d in DIARIES], ids=[d[0] for d in DIARIES]
)
def test_racking_by_the_diary(rows, expected):
    assert asked(rows).answer == expected


@pytest.mark.parametrize("rows", [d[1] for d in DIARIES], ids=[d[0] for d in DIARIES])
def test_none_of_these_diaries_may_be_bottled(rows):
    assert asked(rows, "bottling").answer == "wait"


def test_an_earlier_wine_of_the_vessel_does_not_count():
    later = [{"day": 40.0, "event": "bottled"}, {"day": 41.0, "event": "pitched", "sg": 1.080}]
    found = asked([*PROOF, *later])
    assert found.answer == "wait"
    assert found.reasons[0].code != "bottled"


def test_a_wine_proven_for_three_weeks_may_be_bottled():
    quiet = slowing(*[0.0] * 22, first=19.0)
    readings = [sampled(d + 0.1, 0.996) for d in (19, 30, 40)]
    assert asked([PITCHED, *SLOWED, *quiet, *readings], "bottling").answer == "go"


def test_a_struck_slip_changes_nothing():
    rows = [PITCHED, *SLOWED, sampled(15.1, 0.996), sampled(18.1, 0.996)]
    slip = {"day": 17.2, "sg": 1.070, "bubbles": 400, "struck": "2026-10-19T08:00:00+00:00"}
    assert asked([*rows, slip]).reasons == asked(rows).reasons


def test_rows_after_the_moment_asked_about_change_nothing():
    rows = [PITCHED, *SLOWED]
    later = [{"day": 30.0, "bubbles": 99}, sampled(31.0, 1.050), {"day": 40.0, "event": "bottled"}]
    at = START + timedelta(days=18.5)
    assert judge(diary(*rows), at=at).verdict == judge(diary(*rows, *later), at=at).verdict


def test_the_expected_finish_of_the_settings_is_used():
    quiet = slowing(*[0.0] * 22, first=19.0)
    rows = [PITCHED, *SLOWED, *quiet, *(sampled(d + 0.1, 1.004) for d in (19, 30, 40))]
    made = diary(*sorted(rows, key=lambda row: row["day"]))
    sweet = Settings(vessels={"fig": VesselSettings(finish=1.003)})
    at = evening(40.5)
    assert judge(made, at=at, question="bottling").verdict.answer == "wait"
    assert judge(made, at=at, question="bottling", settings=sweet).verdict.answer == "go"


def test_a_last_count_far_above_its_curve_is_no_go():
    found = answer(forecast=QUIET, gravity=LOW, last_per_min=15.0)
    assert found == ("wait", "bubbles", "above-curve")


def test_a_gravity_that_no_wine_reads_is_no_go():
    assert answer(forecast=QUIET, gravity=read((0, 0.979)))[::2] == ("wait", "gravity-impossible")
