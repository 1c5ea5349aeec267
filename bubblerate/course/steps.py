"""The calendar of what follows: each step with its day or window, from the diary and the forecast.

Days are calendar days. A step still to come stands at the first day on which its waits allow it.
"""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING, Final

from ..verdict import cautions
from ..verdict.limits import READING_FRESH_DAYS, STEADINESS
from ..verdict.reasons import Code, Kind
from .cellar_work import (
    PRACTICE,
    Step,
    filtering,
    fining,
    first_racking,
    later_rackings,
    step_key,
    step_title,
)
from .ripening import best_by_months, months_on, ripe_months

if TYPE_CHECKING:
    from collections.abc import Iterator

    from ..diary.settings import Keeping, VesselSettings
    from ..verdict.judgement import Judgement
    from .checklist import Gate
    from .standing import Standing

__all__ = ["steps"]

_PROOF_DAYS: Final = STEADINESS["bottling"].days
_AGAIN_DAYS: Final = 7.0  # from the reading at the threshold to the next: 5 to 7, common practice
_DONE: Final = {
    "racked": "racking",
    "fined": "fining",
    "sulphited": "sulphiting",
    "stabilised": "stabilising",
    "filtered": "filtering",
    "bottled": "bottling",
}

# What speaks against bottling, by its code: the fewest days in which that can have changed.
_SETTLES_DAYS: Final = {
    Code.FEW_COUNTS: 3.0,
    Code.STILL_BUBBLING: 14.0,
}


def steps(
    racking: Judgement,
    bottling: Judgement,
    stands: Standing,
    checked: Gate,
    *,
    keeping: Keeping,
    known: VesselSettings,
) -> tuple[Step, ...]:
    """Lay out what was done and what comes next.

    Parameters
    ----------
    racking, bottling : Judgement
        Of the same diary at the same moment.
    stands : Standing
    checked : Gate
        The checklist of that moment.
    keeping : Keeping
        The waits.
    known : VesselSettings
        What is said of the vessel.

    Returns
    -------
    tuple of Step
        Done first, then dated steps in order, then those without a day.
    """
    bottled_on = stands.last_day("bottled")
    if bottled_on is not None:
        coming = [_lay_down(bottled_on, keeping), *_drinking(bottled_on, known, sure=True)]
    else:
        first = first_racking(racking, stands)
        checks = _gravity_checks(racking, bottling, stands, first)
        proven_on = _proven_on(bottling, stands, checks)
        cellar = [
            *([first] if first is not None else []),
            *later_rackings(racking, stands, first, keeping),
            *fining(stands, keeping),
        ]
        shut = _bottling(bottling, stands, checked, cellar, proven_on, keeping)
        coming = [
            *checks,
            *cellar,
            *filtering(stands),
            *_last_check(bottling, checks, proven_on, shut),
            shut,
            *(_drinking(shut.on, known, sure=False) if shut.on is not None else []),
        ]
    # stable: what falls on one day keeps its order
    return (*_done(stands), *sorted(coming, key=lambda s: (s.on is None, s.on or date.max)))


def _done(stands: Standing) -> Iterator[Step]:
    """Steps that the diary shows."""
    times = dict.fromkeys(_DONE, 0)
    for visit in stands.rows:
        event = visit.event and visit.event.base
        if event in _DONE:
            times[event] += 1
            word, n = _DONE[event], times[event]
            yield Step(
                key=step_key(word, n),
                title=step_title(word, n),
                state="done",
                on=visit.when.date(),
                basis="the diary",
            )


def _gravity_checks(
    racking: Judgement, bottling: Judgement, stands: Standing, first: Step | None
) -> list[Step]:
    """Readings on the way to the first racking; after it, those that prove it stands still."""
    today, v = stands.asked_on, racking.verdict
    if first is not None and v.answer == "wait":
        median = None if racking.forecast is None else racking.forecast.crossing.median
        on = median.date() if median is not None and first.on is not None else None
        if v.next.kind is Kind.READ:
            on = v.next.on or today
        again = None if on is None else on + timedelta(days=_AGAIN_DAYS)
        how = "Near the threshold: sample degassed, hydrometer afloat, temperature noted."
        basis = "the forecast" if v.next.kind is not Kind.READ else "the verdict"
        return [
            _check("gravity-next", "Gravity check", on, how, basis, cautions.HINT),
            _check("gravity-then", "Gravity check again", again, "5 to 7 days on.", PRACTICE),
        ]
    g = bottling.gravity
    if g is not None and g.steady:
        return []
    on = today if g is None else g.steady_since.date() + timedelta(days=_PROOF_DAYS)
    how = f"Two readings {_PROOF_DAYS:g} days apart within 1 point prove it; note the warmth."
    return [
        _check("gravity-next", "Gravity check", max(on, today), how, "the checklist", cautions.HINT)
    ]


def _check(key: str, title: str, on: date | None, how: str, basis: str, *care: str) -> Step:
    return Step(key=key, title=title, state="due", on=on, how=how, basis=basis, care=care)


def _proven_on(bottling: Judgement, stands: Standing, checks: list[Step]) -> date | None:
    """First day on which two weeks of steady gravity can lie behind it."""
    g = bottling.gravity
    if g is not None and g.steady:
        return stands.asked_on
    first, last = checks[0].on, checks[-1].on
    if first is None or last is None:
        return None
    # a reading that shows a fall, or the first of two, begins the two weeks anew
    alone = g is None or g.steady is False or len(checks) > 1
    return max(last, first + timedelta(days=_PROOF_DAYS)) if alone else last


def _last_check(
    bottling: Judgement, checks: list[Step], proven_on: date | None, shut: Step
) -> Iterator[Step]:
    """A reading as the bottles are filled, unless the last will still be fresh."""
    g = bottling.gravity
    if shut.on is None or proven_on is None:
        return
    fresh = READING_FRESH_DAYS
    read = None if g is None or not g.steady else g.latest.when.date()
    if read is None or (shut.on - read).days > fresh:
        how = f"Within {fresh:g} days before bottling, degassed; it must still stand still."
        care = () if checks else (cautions.HINT,)
        yield _check("gravity-bottling", "Last gravity check", shut.on, how, "the checklist", *care)


def _bottling(
    bottling: Judgement,
    stands: Standing,
    checked: Gate,
    cellar: list[Step],
    proven_on: date | None,
    keeping: Keeping,
) -> Step:
    """Bottling, on no day that one of its checks forbids."""
    today = stands.asked_on
    codes = {r.code for r in bottling.verdict.reasons if bottling.verdict.answer == "wait"}
    racked = bool(stands.did("racked"))
    worked = [s.until or s.on for s in cellar if s.state == "due" and s.on is not None]
    on: date | None = None
    how = "When every line of the checklist passes, not before. Fill to 1 to 2 cm below the "
    how += "closure, and one clear plastic bottle as a tell-tale: hard means open the rest."
    sweet = codes & {Code.SWEETNESS_LEFT, Code.FIZZ, Code.TOO_SWEET}
    if racked and sweet and bottling.proof.earliest is None:
        how = "No day yet: sweetness is left. Wait, or stabilise it and prove it again for 14 days."
    elif proven_on is not None and (racked or worked):
        waits = [
            today,
            proven_on,
            *(today + timedelta(days=_SETTLES_DAYS.get(c, 0.0)) for c in codes),
        ]
        clear = stands.clear.on
        if clear is None:  # by the usual course: after what is still to be done
            clear = max([today, *worked])
            how += " Sooner, if it is clear sooner: say clear_since."
        waits.append(clear + timedelta(days=keeping.deposit_days))
        if stands.on_finings and (fined := stands.last_day("fined")) is not None:
            waits.append(fined + timedelta(days=keeping.fining_days))
        if bottling.facts.acts.stunned is not None:
            waits.append(bottling.facts.acts.stunned.when.date() + timedelta(days=_PROOF_DAYS))
        if checked.answer == "wait":
            waits.append(today + timedelta(days=1))
        on = max(waits)
    return Step(
        key="bottling",
        title="Bottling",
        state="due",
        on=on,
        how=how,
        basis="the checklist: not before",
        care=(cautions.BURST, cautions.BLEACH),
    )


def _lay_down(bottled_on: date, keeping: Keeping) -> Step:
    return Step(
        key="lay-down",
        title="Lay corked bottles down",
        state="due",
        on=bottled_on + timedelta(days=keeping.upright_days),
        how="The corks have taken hold; lay them in the dark at about 13 C.",
        basis="an amateur guide: 3 to 5 days upright",
        care=(cautions.BURST,),
    )


def _drinking(bottled: date, known: VesselSettings, *, sure: bool) -> Iterator[Step]:
    """When to open the first bottle, and by when the last."""
    first, better = ripe_months(known)
    early = "" if sure else " It moves with the bottling."
    style = known.style or "most fruit; no style is set"
    yield Step(
        key="drink-from",
        title="Drink from",
        state="due",
        on=months_on(bottled, first),
        how=f"{first:g} to {better:g} months in bottle ({style}); dark, at 10 to 15 C.{early}",
        basis=PRACTICE if known.drink_from_months is None else "bubblerate.toml",
        care=(cautions.YOUNG, cautions.CUSTOM, cautions.SPIRIT),
    )
    fades = best_by_months(known)
    if fades is not None:
        yield Step(
            key="best-by",
            title="Best by",
            state="due",
            on=months_on(bottled, fades),
            how=f"It fades after that.{early}",
            basis=PRACTICE if known.best_by_months is None else "bubblerate.toml",
        )
