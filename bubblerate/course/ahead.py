"""Foresees the facts after a step, if it goes well on its day.

This is a plan, not a forecast: a ferment ends when the sums expect it, a look finds the wine clear,
a reading finds it steady.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

from ..verdict.reasons import Kind, Phase
from .days import days_on, newest
from .parts import FLAT_DAYS, Bottles, Gravity, Reading

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from datetime import date

    from .facts import Facts

__all__ = ["after"]

WAKES_DAYS: Final = 28  # days from warmth to quiet, after cold: common practice, no source
UNSTUCK_DAYS: Final = 56  # days from the first help to quiet: common practice, no source
USUAL_DAYS: Final = 35  # days from pitching to quiet, if nothing is known: common practice
DRY_SG: Final = 0.996


def after(facts: Facts, kind: Kind, code: str, on: date) -> Facts:
    """Give the facts as they would be after a step.

    Parameters
    ----------
    facts : Facts
    kind, code : Kind, str
        The step, and the row of the table that gave it.
    on : date
        Day on which it is done.

    Returns
    -------
    Facts
    """
    went = _BY_ROW.get(code) or _WENT.get(kind)
    if facts.phase is Phase.FERMENTING and kind in _WORKS_OUT:
        went = _BY_ROW.get(code, _ends)
    marked = replace(facts, done={**facts.done, kind: on})
    return marked if went is None else went(marked, on)


def _ends(facts: Facts, on: date) -> Facts:
    """The ferment ends when the sums expect it, but not so soon after a reading that was high."""
    likely = facts.known.quiet[1] if facts.known.quiet else days_on(facts.sugar_in, USUAL_DAYS)
    read = facts.gravity.read_on if facts.gravity.high else None
    again = None if read is None else days_on(read, FLAT_DAYS)
    return _quiet(facts, newest(on, likely, again))


def _wakes(facts: Facts, on: date) -> Facts:
    """It goes on when warm."""
    return _quiet(facts, days_on(on, WAKES_DAYS))


def _unstuck(facts: Facts, on: date) -> Facts:
    """One of the helps gets it going."""
    return _quiet(facts, days_on(on, UNSTUCK_DAYS))


def _warm_enough(facts: Facts, on: date) -> Facts:
    """It was counted in the warm, which ends a ferment that only slowed, but not one that stuck."""
    return _unstuck(facts, on) if facts.stuck else _ends(facts, on)


def _quiet(facts: Facts, quiet: date) -> Facts:
    """It falls quiet, and a reading of that evening is near its end."""
    sg = facts.known.end_sg[1] if facts.known.end_sg else DRY_SG
    air = replace(facts.air, state="quiet", quiet_on=quiet, counted_on=quiet, back_on=None)
    air = replace(air, worked_on=air.worked_on or facts.sugar_in, silent_on=None)
    return replace(
        facts,
        air=replace(air, slowed_on=quiet, five_minutes_on=quiet),
        gravity=_read_at(replace(facts.gravity, slow_since=quiet), quiet, sg),
        cold=replace(facts.cold, since=None, on_purpose=False),
        known=replace(facts.known, leak_on=None),
        sugar_noted_on=None,
    )


def _read_at(gravity: Gravity, on: date, sg: float) -> Gravity:
    """One more reading, near the end."""
    kept = tuple(r for r in gravity.readings if r.on < on)
    low = max(gravity.low_sg, sg)
    return replace(gravity, readings=(*kept, Reading(on=on, sg=sg)), odd_on=None, low_sg=low)


def _racked(facts: Facts, on: date) -> Facts:
    """It is off its lees, topped up, and on its way to the bottle."""
    cellar = replace(
        facts.cellar,
        racked_on=on,
        rackings=facts.cellar.rackings + 1,
        fined_on=None,
        lees_on=None,
        cloudy_on=None,
    )
    if facts.phase is Phase.FERMENTING:
        cellar = replace(cellar, unclear_on=facts.cellar.unclear_on, rackings=1)
    full = replace(facts.volume, litres=facts.volume.full)
    began = on if facts.phase is Phase.FERMENTING else facts.phase_on
    return replace(facts, phase=Phase.CLEARING, phase_on=began, cellar=cellar, volume=full)


def _looked(facts: Facts, on: date) -> Facts:
    """It is clear by torchlight, and there is no puff when shaken."""
    cellar = facts.cellar
    clear = cellar.clear_on or on
    wait = 14 if cellar.fined_on is not None else 30
    cellar = replace(
        cellar,
        clear_on=clear,
        ripe_on=cellar.ripe_on or days_on(clear, wait),
        cloudy_on=None,
        prickle_on=None,
        still_on=on,
    )
    return replace(facts, cellar=cellar)


def _bacteria_done(facts: Facts, on: date) -> Facts:
    """The malolactic change is over, or was ruled out."""
    cellar = replace(facts.cellar, malolactic_open=False, malolactic_settled_on=on)
    return replace(facts, cellar=cellar)


def _counted(facts: Facts, on: date) -> Facts:
    """Five minutes with hardly a bubble."""
    air = replace(facts.air, counted_on=on, five_minutes_on=on)
    return replace(facts, air=air)


def _calm(facts: Facts, on: date) -> Facts:
    """No more bubbles than weather makes, which was all that was missing."""
    known = replace(facts.known, ready=True, missing=frozenset())
    return replace(_counted(facts, on), known=known)


def _read(facts: Facts, on: date) -> Facts:
    """The gravity has not moved, which completes the proof; the rest was looked at too."""
    last = facts.gravity.last
    sg = last.sg if last else DRY_SG
    gravity = _read_at(facts.gravity, on, sg)
    air = replace(facts.air, counted_on=on, five_minutes_on=on)
    cellar = replace(facts.cellar, still_on=facts.cellar.still_on or on)
    read = replace(facts, gravity=gravity, air=air, cellar=cellar, sugar_noted_on=None)
    if not read.two_apart:
        return read
    known = replace(facts.known, woke_on=None, missing=frozenset(), recount_on=None)
    return replace(read, known=replace(known, ready=not read.above_end))


def _only_gas(facts: Facts, on: date) -> Facts:
    """The gravity has not moved though it bubbles again; the next reading proves it was gas."""
    read = _read(facts, on)
    return replace(read, known=replace(read.known, ready=False, recount_on=None))


def _warmed(facts: Facts, on: date) -> Facts:
    return replace(facts, cold=replace(facts.cold, warm_since=on, since=None))


def _fined(facts: Facts, on: date) -> Facts:
    cellar = replace(facts.cellar, fined_on=on, cloudy_on=None, clear_on=None, ripe_on=None)
    return replace(facts, cellar=replace(cellar, unclear_on=on))


def _filled(facts: Facts, _on: date) -> Facts:
    return replace(facts, volume=replace(facts.volume, litres=facts.volume.full))


def _stabilised(facts: Facts, on: date) -> Facts:
    """The wait starts that day, with a reading on the same evening."""
    cellar = replace(facts.cellar, stabilised_on=on, hold_from=on)
    began = on if facts.phase is Phase.FERMENTING else facts.phase_on
    cellar = replace(cellar, malolactic_open=False, malolactic_settled_on=on)
    last = facts.gravity.last
    known = replace(facts.known, ready=False, still_since=None, missing=frozenset())
    return replace(
        facts,
        phase=Phase.CLEARING,
        phase_on=began,
        cellar=cellar,
        gravity=_read_at(facts.gravity, on, last.sg if last else DRY_SG),
        known=known,
        proof_from=on,
        sugar_noted_on=None,
    )


def _bottled(facts: Facts, on: date) -> Facts:
    return replace(facts, phase=Phase.BOTTLED, phase_on=on, bottles=Bottles(on=on))


_WORKS_OUT: Final = frozenset(
    {Kind.ANSWER, Kind.COUNT, Kind.READ, Kind.BUNG, Kind.WARM, Kind.ROUSE, Kind.RESTART}
)
_WENT: Final[Mapping[Kind, Callable[[Facts, date], Facts]]] = {
    Kind.RACK: _racked,
    Kind.LOOK: _looked,
    Kind.COUNT: _counted,
    Kind.READ: _read,
    Kind.ANSWER: _read,
    Kind.WARM: _warmed,
    Kind.FINE: _fined,
    Kind.TOP_UP: _filled,
    Kind.STABILISE: _stabilised,
    Kind.BOTTLE: _bottled,
}
_BY_ROW: Final[Mapping[str, Callable[[Facts, date], Facts]]] = {
    "F1b": _quiet,
    "F7": _warm_enough,
    "F8": _wakes,
    "F9": _wakes,
    **dict.fromkeys(("F15", "F16", "F17", "F18"), _unstuck),
    "C1": _only_gas,
    "C12b": _calm,
    "C12d": _calm,
    "C16": _bacteria_done,
}
