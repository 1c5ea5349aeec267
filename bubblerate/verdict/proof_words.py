"""Puts the proof into sentences, one for each check that fails.

A chance is rounded up to a whole percent, never to zero; a gravity is printed to a point.
"""

from __future__ import annotations

import math
from datetime import date
from typing import TYPE_CHECKING, Final

from ..text import format_day, plural
from .earliest import Tell
from .reasons import Code

if TYPE_CHECKING:
    from .earliest import Earliest
    from .lacks import Lack
    from .proof import Proof

__all__ = ["go_sentence", "lack_sentence", "plan_sentence", "tell_sentence"]

LEAST_FALL: Final = 0.01  # points a day: less than readings can tell
LEAST_SUGAR_G: Final = 1.0  # every wine has this much sugar that no yeast uses (common practice)

_LACKS: Final = {
    Code.NO_GRAVITY: "No gravity has been read since something last went into it.",
    Code.GRAVITY_IMPOSSIBLE: (
        "It reads {sg}, lower than any wine: misread, or a hydrometer that is off?"
    ),
    Code.STILL_BUBBLING: (
        "On {on} it certainly bubbled more than the {weather_per_min} a minute that weather alone "
        "can cause."
    ),
    Code.SWEETNESS_LEFT: (
        "It reads {sg} and should finish at {low_sg} to {high_sg}. The chance of enough sugar to "
        "burst a bottle is {burst}."
    ),
    Code.FIZZ: "The chance of enough sugar left to make a still wine fizz is {fizz}.",
    Code.SILENCE_ALONE: (
        "It is as quiet as a finished wine, but the readings alone put the chance of fizz at "
        "{fizz}. Does the airlock leak?"
    ),
    Code.WOKE: (
        "It stopped at {stood_sg}, then fell by itself to {sg}. It must now stay there for 60 "
        "days, two weeks of them at 18 C. So far: {days} days, {warm_days} of them warm."
    ),
    Code.TOO_SWEET: "{sg} is sweet: above {most_sg}, only a stabilised wine can be bottled.",
    Code.STRONG_AND_SWEET: (
        "{abv} % vol and still {sg}: tired yeast may start again. Stabilise it, or keep it until "
        "{due}."
    ),
    Code.STABILISED_AND_FALLING: (
        "It was stabilised, but went from {first_sg} to {sg}: read it once more."
    ),
    Code.STABILISED_UNPROVEN: (
        "It was stabilised, but is not proven to stay at {sg}: the chance of enough sugar to "
        "burst a bottle is {burst}."
    ),
    Code.FINISH_UNTESTED: (
        "You set its finish at {said_sg}, but {low_sg} to {high_sg} is usual. Prove it with a "
        "test bottle, two weeks at 25 C."
    ),
    Code.ODD_READING: (
        "The last reading, {sg}, is {off} points away from the others. Read it again now, with no "
        "bubbles on the hydrometer."
    ),
    Code.GRAVITY_UNPROVEN: (
        "Its readings cover {days} of the 14 days needed, since {since}: the next counts from "
        "{due}."
    ),
    Code.STUNNED: (
        "It was treated on {on}, before anything was proven: a reading counts from {due}."
    ),
    Code.OLD_READING: "The last reading, of {on}, is {days} days old: read it again.",
    Code.CHECK_READING: (
        "Topped up on {on}: take one reading to show that it went in with a similar wine."
    ),
    Code.FEW_COUNTS: ("It has not been counted for {need} minutes within the last {days} days."),
    Code.PRICKLE: (
        "It had gas in it on {on}: swirl it daily in the warm, then shake a sample again."
    ),
    Code.STILL_UNSAID: (
        "Shake a sample: does gas puff out, or prickle on the tongue? If not, note it as still."
    ),
    Code.ON_FININGS: "On finings since {on}: once it is clear, rack it off them.",
    Code.NEW_LEES: "New lees since {on}: rack it off them.",
    Code.CLOUDY: "It was cloudy on {on}: look again with a torch.",
    Code.CLEAR_UNSAID: "Shine a torch through it: is it clear? If so, note it as clear.",
    Code.CLEAR_TOO_SHORT: "Clear since {since}: it has to stay so for {need} days, until {due}.",
    Code.MALOLACTIC_OPEN: (
        "Is malolactic fermentation over? Note that it is, add sulphite, or give it a warm month."
    ),
}
_TELLS: Final = {
    Tell.STRIP: "a sugar strip made for wine that reads under 3 g/L",
    Tell.TEST_BOTTLE: (
        "a bottle of it that shows no change in two weeks at 25 C, under an airlock"
    ),
    Tell.WARMTH: "four weeks at 20 C without a bubble",
    Tell.STABILISE: "stabilise it, and read it for two weeks",
    Tell.STEM: "float the hydrometer in plain water at its own temperature: it should read 1.000",
}


def lack_sentence(lack: Lack) -> str:
    """Word a check that fails.

    Examples
    --------
    >>> from .lacks import Lack
    >>> lack_sentence(Lack(check=Code.NEW_LEES, values={"on": date(2026, 11, 14)}))
    'New lees since 14 Nov 2026: rack it off them.'
    """
    return _LACKS[lack.check].format(**{k: _value(k, v) for k, v in lack.values.items()})


def go_sentence(proof: Proof) -> str:
    """Word a go: the gravity, what may be left, and how likely that would do harm."""
    assert proof.sugar_g_per_litre is not None
    assert proof.chance_fizz is not None
    most = max(proof.sugar_g_per_litre.high, LEAST_SUGAR_G)
    return (
        f"{_fall(proof)} Sugar that could ferment: under {most:.0f} g/L, nine chances in ten. "
        f"Chance of enough to make a still wine fizz (+1.4 bar): {_percent(proof.chance_fizz)}."
    )


def _fall(proof: Proof) -> str:
    assert proof.fall_points_per_day is not None
    assert proof.fall_at_most_points_per_day is not None
    pace, most = proof.fall_points_per_day, max(proof.fall_at_most_points_per_day, LEAST_FALL)
    how = "no fall" if pace < LEAST_FALL else f"a fall of about {pace:.2f} points a day"
    most = math.ceil(100.0 * most - 1e-9) / 100.0
    read = f"{plural(proof.readings, 'reading')} over {plural(proof.reading_days, 'day')}"
    return f"{read}: {how} (95 %: under {most:.2f} points a day)."


def plan_sentence(plan: Earliest) -> str:
    """Word the earliest evening of a go, and what to do until then."""
    both = [day for day in plan.look_on if day in plan.read_on]
    looks = [day for day in plan.look_on if day not in plan.read_on]
    words = [f"It could be bottled on {format_day(plan.on)} if nothing changes."]
    if plan.keep_c is not None:
        words.append(f"Keep it at {plan.keep_c:.0f} C.")
    if looks:
        words.append(f"On {_days(looks)}: count 5 minutes, note the temperature.")
    words.append(f"On {_days(both)}: count 5 minutes, note the temperature, read the gravity.")
    return " ".join(words)


def tell_sentence(tells: tuple[Tell, ...]) -> str:
    """Word what would settle the sugar question if readings cannot; empty if nothing is needed."""
    if not tells:
        return ""
    lead = "This would settle it: " if len(tells) == 1 else "Any one of these would settle it: "
    return f"{lead}{'; '.join(_TELLS[tell] for tell in tells)}."


def _days(days: list[date]) -> str:
    """Evenings in words; if there are many, the first, the last and how many."""
    if len(days) > 3:
        return f"{len(days)} evenings from {format_day(days[0])} to {format_day(days[-1])}"
    return " and ".join(format_day(day) for day in days)


def _percent(chance: float) -> str:
    """Chance rounded up, so that one over a limit never prints as the limit."""
    return "under 1 %" if chance < 0.01 else f"{math.ceil(100.0 * chance - 1e-9)} %"


def _value(name: str, value: float | date) -> str:
    """Value as it is printed in a sentence; its name tells how."""
    if isinstance(value, date):
        return format_day(value)
    if name == "sg" or name.endswith("_sg"):
        return f"{value:.3f}"
    if name in {"fizz", "burst"}:
        return _percent(value)
    if name.endswith("per_min"):
        return f"{value:.2g}"
    return f"{value:.0f}"
