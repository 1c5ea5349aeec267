"""Brings the proof and the fit into the form that the table of steps needs.

All of it is as of the last row given, never by the clock. `ready` leaves out what the table checks
itself: clear, still, malolactic, off lees and finings, the age of the last reading and count.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import date, datetime, time
from functools import partial
from typing import TYPE_CHECKING, Final

from ..diary.events import Event
from ..diary.number import NUMBERS
from ..diary.visit import Visit
from ..physics.hydrometer import corrected_sg
from ..physics.scales import points
from ..verdict.acts import evening
from ..verdict.earliest import MOST_DAYS, earliest
from ..verdict.lacks import lacks
from ..verdict.limits import BURST_POINTS, FIZZ_POINTS
from ..verdict.noted import Evening
from ..verdict.proof import near_its_end, taught
from ..verdict.reasons import Code, Question
from ..verdict.seen import Seen
from ..verdict.stood import FORTNIGHT, LEVEL_POINTS, woke
from ..verdict.sugar_evidence import sugar_evidence
from ..verdict.sugar_grid import weigh
from . import acts
from .budget import budget
from .days import evening_of
from .inputs import BUBBLING, ODD, READINGS, RISK, About, Known, no_reading

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import tzinfo

    from ..diary.settings import Hydrometer, Settings, VesselSettings
    from ..ferment.fit import Fit
    from ..ferment.forecast import Forecast
    from ..verdict.judgement import Situation
    from ..verdict.lacks import Lack
    from ..verdict.sugar_evidence import SugarEvidence
    from ..verdict.sugar_grid import Weighed

__all__ = ["Weigher", "about_of", "rows_of"]

# What the table checks itself, from its own facts.
_OF_TABLE: Final = frozenset({Code.FEW_COUNTS, Code.OLD_READING})
_LACKING: Final = {
    Code.NO_GRAVITY: READINGS,
    Code.GRAVITY_UNPROVEN: READINGS,
    Code.STUNNED: READINGS,
    Code.ODD_READING: ODD,
    Code.GRAVITY_IMPOSSIBLE: ODD,
    Code.STILL_BUBBLING: BUBBLING,
}
LONG_COUNT_MINUTES: Final = 20.0  # tells a bubble or two from the weather (our judgement)
_SURELY: Final = 0.9  # least fall that counts as one
_LIKELY: Final = 0.6  # near its end when it was racked (our judgement)
_CLEARS: Final = acts.RACKINGS | acts.FININGS
_SPOILS: Final = _CLEARS | {acts.TOPPED_UP}
_SAID_AT: Final = time(21)  # for a day named in the settings, which has no hour


def about_of(settings: Settings, vessel: str, *, threshold_per_min: float) -> About:
    """Find what the maker says about a jar in the settings."""
    said = settings.vessel(vessel)
    return About(
        threshold_per_min=threshold_per_min,
        style=said.style,
        litres=said.litres,
        full_litres=said.full_litres,
        pitched_on=None if said.pitched is None else evening_of(said.pitched),
        spare_for=said.spare_for,
        drink_from_months=said.drink_from_months,
        best_by_months=said.best_by_months,
    )


def rows_of(situation: Situation) -> tuple[Visit, ...]:
    """Give the rows of the wine in the jar, as the table compares them.

    Parameters
    ----------
    situation : Situation

    Returns
    -------
    tuple of Visit
        Oldest first; gravities corrected for the stem. What the settings say was seen on a day is a
        row of that evening.
    """
    batch, stem = situation.evenings, situation.settings.hydrometer
    rows = [
        row if row.sg is None else replace(row, sg=_true_sg(row, row.sg, stem)) for row in batch
    ]
    if batch:
        said = situation.settings.vessel(situation.diary.vessel)
        seen = _said(said, batch[-1].when.tzinfo)
        rows += [row for row in seen if batch[0].when <= row.when <= situation.at]
    return tuple(sorted(rows, key=lambda row: row.when))


def _true_sg(row: Visit, read_sg: float, stem: Hydrometer) -> float:
    """A reading corrected for its sample and the stem, kept within what a row allows."""
    sample_c = stem.calibration_c if row.sample_c is None else row.sample_c
    true_sg = corrected_sg(read_sg, sample_c, calibration_c=stem.calibration_c, offset=stem.offset)
    limits = NUMBERS["sg"]
    return min(max(float(true_sg), limits.low), limits.high)


def _said(said: VesselSettings, zone: tzinfo | None) -> list[Visit]:
    """Rows for the days named in the settings."""
    days = {
        Event.CLEAR: said.clear_since,
        Event.STILL: said.degassed_on,
        Event.MALOLACTIC_OVER: said.malolactic_settled_on,
    }
    return [
        Visit(when=datetime.combine(day, _SAID_AT, zone), event=event)
        for event, day in days.items()
        if day is not None
    ]


@dataclass(frozen=True, kw_only=True, eq=False)
class Weigher:
    """Gives what the sums say about the rows of a jar, `Known`; weighs each number of rows once.

    Parameters
    ----------
    situation : Situation
    fit : Fit or None
        Of its evidence.
    """

    situation: Situation
    fit: Fit | None
    _found: dict[int, Known] = field(default_factory=dict)

    def __call__(self, rows: Sequence[Visit]) -> Known:
        """Weigh the rows up to an evening."""
        if len(rows) not in self._found:
            self._found[len(rows)] = self._weighed(rows)
        return self._found[len(rows)]

    def _weighed(self, rows: Sequence[Visit]) -> Known:
        asked, last = self.situation, rows[-1].when
        day = evening_of(last)
        past = tuple(v for v in asked.diary.visits if evening_of(v.when) <= day)
        diary = replace(asked.diary, visits=past)
        latest = len(past) == len(asked.diary.visits)
        told = asked.told(self.fit, last) if latest else None
        if latest:
            zone = asked.diary.batch[-1].when.tzinfo
            seen = replace(asked.sugar, asked=evening(last.astimezone(zone)))
        else:
            seen = sugar_evidence(diary, at=last, settings=asked.settings)
        evidence = taught(seen, diary, asked.settings, told)
        known = replace(_known(evidence, ahead=latest), near_before=self._near_before(past, day))
        if not latest:
            return known
        return replace(
            known,
            leak_on=self._leak_on(),
            quiet=_quiet(told),
            budget=budget(
                told,
                end_sg=(evidence.finish.low_sg, evidence.finish.high_sg),
                start_sg=evidence.og_sg,
            ),
            curve_failed=self._curve_failed(),
            sudden=self.situation.facts.airlock.sudden,
        )

    def _near_before(self, past: Sequence[Visit], day: date) -> bool:
        """Whether it was likely near its end before it was racked or fined on that evening.

        A racking spoils the counts of its evening, which may have made it a go. The fit of that
        night is not made again, so a lower chance is enough.
        """
        if not any(v.event in _CLEARS for v in past if evening_of(v.when) == day):
            return False
        undone = tuple(
            replace(v, event=None) if evening_of(v.when) == day and v.event in _SPOILS else v
            for v in past
        )
        diary = replace(self.situation.diary, visits=undone)
        eve = sugar_evidence(diary, at=past[-1].when, settings=self.situation.settings)
        found = near_its_end(eve)
        return found is not None and found.chance >= _LIKELY

    def _curve_failed(self) -> bool:
        """Whether there were enough counts, but no curve that can be trusted."""
        tried = self.situation.evidence is not None
        return tried and (self.fit is None or bool(self.fit.distrust))

    def _leak_on(self) -> date | None:
        """Newest reading, if gravity fell by far more than the bubbles can explain."""
        found = self.situation.gravity_check(Question.RACKING)
        return evening_of(found.latest.when) if found is not None and found.leak else None


def _quiet(told: Forecast | None) -> tuple[date, date, date] | None:
    """Early, likely and late day of the crossing; None if one of them is too far ahead."""
    c = None if told is None else told.crossing
    if c is None or c.low80 is None or c.median is None or c.high80 is None:
        return None
    return evening_of(c.low80), evening_of(c.median), evening_of(c.high80)


def _known(evidence: SugarEvidence, *, ahead: bool) -> Known:
    """Judge the sugar as if all that eyes can see had been seen."""
    by_eye = Seen(clear=evidence.asked, clear_days=0, still=evidence.asked)
    bare = replace(evidence, seen=replace(by_eye, malolactic_settled=evidence.asked))
    ends = evidence.finish.low_sg, evidence.finish.high_sg
    weighed, near = weigh(bare), near_its_end(bare)
    against = [lack for lack in lacks(bare, weighed) if lack.check not in _OF_TABLE]
    missing = frozenset(_LACKING.get(lack.check, RISK) for lack in against)
    if weighed is None or near is None:
        return Known(end_sg=ends, missing=missing)
    still, woken = _still_since(evidence, weighed), _woke_on(evidence)
    low = evidence.readings[-1].points <= points(ends[1]) + 1.0
    return Known(
        near=near.near,
        points_left=(near.left_points.low, near.left_points.high),
        ended=low and still is not None and woken is None and RISK not in missing,
        still_since=still,
        woke_on=woken,
        falling=float(weighed.falling.sum()) >= _SURELY,
        end_sg=ends,
        ready=not against,
        missing=missing,
        chance_fizz=weighed.chance(FIZZ_POINTS),
        chance_burst=weighed.chance(BURST_POINTS),
        find_earliest=partial(_next_reading, evidence, against) if ahead else no_reading,
        recount_on=_recount_on(bare) if ahead and missing and missing <= {RISK, BUBBLING} else None,
    )


def _recount_on(bare: SugarEvidence) -> date | None:
    """Evening of a longer count than the last that leaves nothing against bottling, if silent.

    Where the last is of the evening of an act, or the next, it is past both, and that one no
    longer matters.
    """
    if not bare.counts or bare.counts[-1].minutes >= LONG_COUNT_MINUTES:
        return None
    day = bare.counts[-1].day + (2 if bare.shaken else 1)
    kept = bare.counts[:-1] if bare.shaken else bare.counts
    then = replace(bare, counts=(*kept, Evening(day, 0, LONG_COUNT_MINUTES)))
    settled = all(lack.check in _OF_TABLE for lack in lacks(then, weigh(then)))
    return date.fromordinal(day) if settled else None


def _still_since(evidence: SugarEvidence, weighed: Weighed) -> date | None:
    """First of the readings at today's level, if they span two weeks."""
    proof = [r for r in weighed.readings if r.day >= (evidence.since or 0)]
    if not proof:
        return None
    since = proof[-1].day
    for r in reversed(proof):
        if abs(r.points - weighed.level_points) > LEVEL_POINTS:
            break
        since = r.day
    return date.fromordinal(since) if proof[-1].day - since >= FORTNIGHT else None


def _woke_on(evidence: SugarEvidence) -> date | None:
    """Since when it is at a level that it fell to by itself, until a proof of that is complete."""
    found = None if evidence.stabilised is not None else woke(evidence)
    if found is None or found.settled(evidence.readings[-1].day):
        return None
    return date.fromordinal(found.since)


def _next_reading(evidence: SugarEvidence, against: Sequence[Lack]) -> date | None:
    """Evening of the next reading on the way to the soonest go; None if none leads there.

    No go comes before it has been clear long enough, so a reading waits for that too, unless more
    than one is needed. A year's wait is no plan: it is said beside what would end it sooner.
    """
    plan = earliest(evidence) if against else None
    if plan is None or plan.keep_c is not None:
        return None
    if plan.on.toordinal() > evidence.asked + MOST_DAYS:
        return None
    return plan.read_on[0]
