"""Facts, forecasts and diaries that the tests of a verdict begin with."""

from dataclasses import fields, replace
from datetime import timedelta
from itertools import product

import numpy as np

from bubblerate.ferment.chances import Crossing
from bubblerate.ferment.chances import Span as RateSpan
from bubblerate.ferment.finish import FinishDistribution
from bubblerate.ferment.forecast import Basis, Forecast
from bubblerate.ferment.gravity import Fall, Reading
from bubblerate.ferment.gravity_check import GravityCheck
from bubblerate.ferment.tail import find_tail
from bubblerate.verdict.airlock import Airlock, Spell
from bubblerate.verdict.case import Case
from bubblerate.verdict.decide import verdict
from bubblerate.verdict.facts import Act, Acts, Facts, Warmth, gather_facts
from bubblerate.verdict.judgement import conclude, fit_situation, situation
from bubblerate.verdict.lacks import WORST_FIRST, Lack
from bubblerate.verdict.proof import Proof, Span
from bubblerate.verdict.reasons import Code

from scenes import evening, visits

NOW = evening(30)
ENDS_AT = FinishDistribution(centre_sg=0.998, below_points=3.0, above_points=1.0)


def days_ago(days):
    return NOW - timedelta(days=days)


def bubbling(p_below, per_min=0.3):
    """A forecast that gives this chance of being below the threshold."""
    ahead, later = [-3.0, 2.0, 4.0, 7.0], (1.0 - p_below) / 3.0
    crossing = Crossing.of(np.array(ahead), np.array([p_below, *[later] * 3]), NOW, 1.0)
    rate = RateSpan(low80=0.8 * per_min, median=per_min, high80=1.2 * per_min)
    return Forecast(
        at=NOW,
        basis=Basis.TAIL,
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
    fall = None
    if len(seen) > 1:
        points, days = (seen[-2].sg - seen[-1].sg) * 1000.0, pairs[-2][0] - pairs[-1][0]
        fall = Fall(points=points, days=days)
    span = steady_days if steady_days is not None else (pairs[0][0] - pairs[-1][0] if steady else 0)
    return GravityCheck(
        readings=seen,
        finish=ENDS_AT,
        said_finish_sg=finish,
        steady=steady,
        steady_days=float(span),
        steady_since=seen[-1].when - timedelta(days=span),
        fall=fall,
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
}


def stated(**values):
    """Facts named without their group: `quiet_counts` are the `counts` of the `quiet` spell."""
    names = [name for name in values if name.startswith("quiet_")]
    values["quiet"] = Spell(**{name.removeprefix("quiet_"): values.pop(name) for name in names})
    for act in {"broken", "stunned"} & values.keys():
        values[act] = Act(*values[act])

    def part(group):
        wanted = {field.name for field in fields(group)} & values.keys()
        return group(**{name: values.pop(name) for name in wanted})

    stated = Facts(airlock=part(Airlock), warmth=part(Warmth), acts=part(Acts))
    assert not values, f"no such facts: {values}"
    return stated


NOTHING_LACKS = Proof(
    asked=NOW.date(),
    looked=NOW.date(),
    sg=0.996,
    readings=3,
    reading_days=20,
    chance_fizz=0.01,
    chance_burst=0.001,
    sugar_g_per_litre=Span(0.0, 0.1, 0.6),
    fall_points_per_day=0.0,
    fall_at_most_points_per_day=0.01,
    slept=0.2,
)
_DAYS, _GRAVITIES, _NUMBERS = (
    ("on", "since", "due"),
    ("sg", "low_sg", "high_sg", "said_sg", "stood_sg", "first_sg", "others_sg", "most_sg"),
    ("days", "warm_days", "need", "off", "abv", "weather_per_min"),
)


def lacking(*codes):
    """A proof that lacks these, with values for any sentence."""
    values = {
        **dict.fromkeys(_DAYS, NOW.date()),
        **dict.fromkeys(_GRAVITIES, 1.003),
        **dict.fromkeys(_NUMBERS, 7.0),
        "fizz": 0.2,
        "burst": 0.1,
    }
    return replace(NOTHING_LACKS, lacks=tuple(Lack(check=c, values=values) for c in codes))


def answer(question="racking", forecast=None, gravity=None, proof=NOTHING_LACKS, **facts):
    case = Case(
        vessel="fig",
        asked_at=NOW,
        question=question,
        threshold_per_min=1.0,
        facts=stated(**{**SEEN, **facts}),
        proof=proof,
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


PROVEN = read((20, 0.997), (10, 0.997), (0, 0.996), steady=True)


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


Z10 = [{"day": d, "bubbles": 0, "seconds": 600.0, "temp_c": 19.0} for d in range(19, 38)]


SAID = [{"day": 5.0 + n / 100, "event": word} for n, word in enumerate(("clear", "still"))]


PROOF = [PITCHED, *SLOWED, *SAID, *Z10, *(sampled(d + 0.1, 0.997) for d in (19, 30, 37))]


WITHOUT_COLD = [row for row in PROOF if "temp_c" not in row or row["day"] < 1.5]


def facts(*rows, at=None):
    made = visits(*rows)
    moment = evening(at if at is not None else rows[-1]["day"])
    return gather_facts(made, find_tail(made), at=moment, threshold_per_min=1.0)


def counts(*bubbles, **more):
    return [{"day": float(d), "bubbles": n, **more} for d, n in enumerate(bubbles)]


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
    ("sudden quiet beside an old low reading", QUIET, read((20, 0.997)), {"sudden": True}, ("wait", "none", "sudden-quiet")),
    ("sudden quiet beside a low reading", QUIET, read((0, 1.008)), {"sudden": True}, ("wait", "none", "sudden-quiet")),
    ("steady and low in the cold, not at its finish", None, read((5, 1.009), (0, 1.009), steady=True), {"temp_c": 8.0}, ("wait", "none", "cold-pause")),
    ("the same, and nobody noted how warm", QUIET, read((5, 1.009), (0, 1.009), steady=True), {"temp_c": None, "usual_c": None, "sudden": True}, ("wait", "none", "sudden-quiet")),
    ("stabilised and held for two weeks", QUIET, read((15, 1.020), (0, 1.020), steady=True), {"stabilised_at": days_ago(16)}, ("go", "both", "gravity-steady")),
    ("stabilised last week, sweet", QUIET, read((5, 1.020), (0, 1.020), steady=True), {"stabilised_at": days_ago(6)}, ("wait", "gravity", "stabilised-unproven")),
    ("stunned last week", QUIET, None, {"stunned": ("sulphited", days_ago(5))}, ("wait", "none", "stunned")),
    ("sweet perry, as its maker expects", QUIET, read((5, 1.013), (0, 1.013), steady=True, finish=1.012), {}, ("go", "both", "gravity-steady")),
    ("in the bottle", QUIET, STEADY, {"bottled_at": days_ago(2)}, ("wait", "none", "bottled")),
]  # fmt: skip


BOTTLING = [
    # what the proof lacks                  proof, facts                              -> answer
    ("nothing", NOTHING_LACKS, {}, ("go", "both", "gravity-steady")),
    ("nothing, and it was stabilised", replace(NOTHING_LACKS, stabilised=NOW.date()), {}, ("go", "both", "gravity-steady")),
    ("nothing, but in the bottle", NOTHING_LACKS, {"bottled_at": days_ago(2)}, ("wait", "none", "bottled")),
    ("a reading", lacking(Code.NO_GRAVITY), {}, ("wait", "none", "no-gravity")),
    ("silence", lacking(Code.STILL_BUBBLING), {}, ("wait", "bubbles", "still-bubbling")),
    ("its end", lacking(Code.SWEETNESS_LEFT, Code.FIZZ), {}, ("wait", "gravity", "sweetness-left")),
    ("its end, and it bubbles", lacking(Code.STILL_BUBBLING, Code.FIZZ), {}, ("wait", "both", "still-bubbling")),
    ("a second reading", lacking(Code.GRAVITY_UNPROVEN), {}, ("wait", "gravity", "gravity-unproven")),
    ("a fresh reading", lacking(Code.OLD_READING), {}, ("wait", "gravity", "old-reading")),
    ("a fresh count", lacking(Code.FEW_COUNTS), {}, ("wait", "none", "few-counts")),
    ("what only the maker sees", lacking(Code.STILL_UNSAID, Code.CLEAR_UNSAID), {}, ("wait", "none", "still-unsaid")),
    *((f"{code} alone", lacking(code), {}, ("wait", None, code)) for code in WORST_FIRST),
]  # fmt: skip


EVERY_CASE = list(
    product(
        [None, QUIET, NEAR, LIKELY, BUSY],
        [None, LOW, STEADY, STEADY_ABOVE, STUCK, FALLING, OLD_START, OLD_HIGH, PROVEN],
        [{}, {"temp_c": 8.0}, {"sudden": True}, {"last_count_at": None}, {"counts": 0}],
    )
)


def judge(diary, *, at, question="racking", threshold_per_min=None, settings=None):
    """What the sums say of one question, before the table of steps is asked."""
    asked = situation(diary, at, settings, threshold_per_min=threshold_per_min)
    return conclude(asked, fit_situation(asked), question)
