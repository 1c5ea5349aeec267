"""What stands against bottling: every check must pass, and none of them is the count alone.

A wrong go bursts glass, so what is not known is a wait. The limits are common practice, no source.
"""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from .case import (
    READ,
    READING_FRESH_DAYS,
    STEADINESS,
    SURE,
    SWEETEST_SG,
    Case,
    NextStep,
    Reason,
    count,
    fall,
    impossible,
    stunned,
    unfitted,
    unread,
)

if TYPE_CHECKING:
    from collections.abc import Iterator

    from ..ferment.gravity_check import GravityCheck

__all__ = ["against_by_bubbles", "against_by_gravity", "in_favour"]

WARM_C = 15.0
WARM_ENOUGH_C = 18.0  # a ferment that ran warmer need not be kept so
WARMTH_DAYS = 7.0  # spanned by temperatures noted in the two weeks of the proof, at least
COUNTED_SECONDS = 300.0  # in the last two weeks, at least,
COUNTED_DAYS = 3.0  # on evenings so far apart
WEATHER_PER_MIN = 0.1  # below one in 10 min, counting cannot tell weather from yeast

_SWEET = "Keep it under airlock: wait, or stabilise it and prove it again for 14 days."
_BOTTLE = "Look first: clear, no prickle on the tongue, no new sediment for 30 days. Then bottle."

Failure = tuple[Reason, NextStep]


def against_by_gravity(case: Case) -> Iterator[Failure]:
    """Checks of gravity, warmth and treatment that fail."""
    g, now = case.gravity, NextStep(READ, case.day())
    if g is None:
        text = f"{unread(case)}: bottling is never decided on bubbles."
        yield Reason("no-gravity", text), now
        return
    sg = f"{g.latest.sg:.3f}"
    rule = STEADINESS["bottling"]
    misread = impossible(case)
    if misread is not None:
        yield misread
    if g.leak or g.gas_only:
        text = "Bubbles and gravity tell different stories: one of them misleads."
        yield Reason("stories-differ", text), now
    if not g.steady:
        falling = f"; it fell {fall(g)}" if g.steady is False else ""
        text = (
            f"Readings within {rule.points:.0f} point of each other span "
            f"{g.steady_days:.0f} days; {rule.days:.0f} are needed{falling}."
        )
        due = (g.steady_since + timedelta(days=rule.days)).date()
        yield Reason("gravity-unproven", text), NextStep(READ, max(due, case.day()))
    if case.age_days(g.latest.when) > READING_FRESH_DAYS:
        age = case.age_days(g.latest.when)
        yield Reason("old-reading", f"The last reading is {age:.0f} days old."), now
    if not case.near_finish and not _stabilised_before(case, g):
        text = (
            f"{sg} is {g.above_finish_points:.0f} points above the finish expected "
            f"({g.finish_sg:.3f}): sweetness left can ferment in a shut bottle."
        )
        yield Reason("sweetness-left", text), NextStep(_SWEET, case.day())
    elif g.latest.sg > SWEETEST_SG + 1e-6 and not _stabilised_before(case, g):
        text = f"{sg} is sweet, and only stabilised wine above {SWEETEST_SG:.3f} can be trusted."
        yield Reason("too-sweet", text), NextStep(_SWEET, case.day())
    treated = stunned(case)
    if treated is not None:
        yield treated
    yield from _cold(case)


def _stabilised_before(case: Case, g: GravityCheck) -> bool:
    """Whether the wine was stabilised and has stood still ever since."""
    at = case.signs.stabilised_at
    return at is not None and at <= g.steady_since


def _cold(case: Case) -> Iterator[Failure]:
    """A gravity that stands still in the cold proves nothing."""
    s = case.signs
    if s.coldest_c is None or s.warmth_days < WARMTH_DAYS:
        text = "Too few temperatures are noted for the last two weeks: was it warm enough?"
        note = NextStep("Note the temperature with the next counts and readings.", case.day())
        yield Reason("warmth-unknown", text), note
        return
    worked_c = s.worked_c if s.worked_c is not None else s.usual_c
    needed = max(WARM_C, min(WARM_ENOUGH_C, worked_c if worked_c is not None else 0.0) - 1.0)
    if s.coldest_c < needed:
        text = (
            f"It fell to {s.coldest_c:.0f} C in the last two weeks: a gravity that stands still "
            f"proves something only at {needed:.0f} C or more."
        )
        step = f"Keep it at {needed:.0f} C or more for 14 days, then read again."
        yield Reason("not-warm", text), NextStep(step, case.day())


def against_by_bubbles(case: Case) -> Iterator[Failure]:
    """Bubbles beyond what weather makes, in the last two weeks; or no count to tell."""
    s, f = case.signs, case.forecast
    if s.recent_seconds < COUNTED_SECONDS or s.recent_days < COUNTED_DAYS:
        text = "Too little was counted in the last two weeks to call the airlock quiet."
        yield Reason("few-counts", text), count(case, 0)
    fitted = f is not None and f.crossing.p_already < SURE
    if fitted or s.surely_per_min > WEATHER_PER_MIN:
        text = "The airlock made more bubbles in the last two weeks than weather does."
        yield Reason("still-bubbling", text), count(case, 7)
    failed = unfitted(case)
    if failed is not None:
        yield failed


def in_favour(case: Case) -> tuple[list[Reason], NextStep]:
    """Reasons of a go, and the look that no diary can take."""
    g, s = case.gravity, case.signs
    assert g is not None
    text = (
        f"The gravity stands still: {g.latest.sg:.3f}, within 1 point for {g.steady_days:.0f} days."
    )
    reasons = [Reason("gravity-steady", text)]
    if case.near_finish:
        text = f"It is at its finish: about {g.finish_sg:.3f} is expected."
        reasons.append(Reason("at-finish", text))
    else:
        reasons.append(Reason("stabilised", "It was stabilised, and has not moved since."))
    reasons.append(Reason("warm-enough", f"It was not below {s.coldest_c:.0f} C for two weeks."))
    reasons.append(Reason("quiet", "The airlock made no more than weather does for two weeks."))
    return reasons, NextStep(_BOTTLE, case.day())
