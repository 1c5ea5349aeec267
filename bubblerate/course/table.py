"""The table of steps: the first row of a phase that fits the facts is what to do next.

A row's day is the newest day among the facts it rests on, plus a wait; never the day asked. The
words for each row are in `words` under its code. Racking goes by gravity alone if two low readings
agree (F1), by bubbles alone after five quiet days (F2). One low reading asks for a count (F1b). So
leaving out one kind of fact opens nothing, unless it contradicted the other.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Final

from ..verdict.reasons import Kind, Phase
from . import waits
from .days import days_on, newest
from .inputs import BUBBLING, ODD
from .parts import FLAT_DAYS
from .waits import bottled_plus, counted_plus, read_plus
from .windows import drink_from, keeps_until

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from datetime import date

    from .facts import Facts

__all__ = ["REST_DAYS", "TABLE", "Row", "row_for"]

# Least days from one step to the next of the same kind; those for readings are in `engine`.
REST_DAYS: Final[Mapping[Kind, int]] = {
    Kind.COUNT: 1,
    Kind.BUNG: 14,
    Kind.WARM: 7,
    Kind.ROUSE: 7,
    Kind.RESTART: 14,
    Kind.LOOK: 4,
    Kind.RACK: 14,
    Kind.TOP_UP: 7,
    Kind.CHILL: 30,
    Kind.FINE: 14,
    Kind.STABILISE: 14,
}


@dataclass(frozen=True, slots=True)
class Row:
    """One row of the table.

    Attributes
    ----------
    code : str
        Its name in `words` and in tests.
    kind : Kind
    fits : callable
        Whether it fits, by the facts and the day asked; only rows announced before their day use
        the day.
    day : callable
        Gives the day of the step.
    also : tuple of str
        What else the same visit may settle, as keys of `words.ALSO`.
    until : callable or None
        Last good day.
    rest : int or None
        Days after the same kind was last done; None for the usual.
    """

    code: str
    kind: Kind
    fits: Callable[[Facts, date], bool]
    day: Callable[[Facts], date]
    also: tuple[str, ...] = ()
    until: Callable[[Facts], date | None] | None = None
    rest: int | None = None


def row_for(facts: Facts, on: date) -> Row:
    """Find the first row that fits; there always is one.

    Parameters
    ----------
    facts : Facts
    on : date
        Evening asked about.

    Returns
    -------
    Row
    """
    return next(row for row in TABLE[facts.phase] if row.fits(facts, on))


def _watch(days: int) -> Row:
    day = partial(bottled_plus, wait=days)
    return Row("B4", Kind.WATCH, lambda f, on: on <= day(f), day)


RACK_ALSO: Final = ("read", "top-up")
LOOK_ALSO: Final = ("read", "shake", "temperature")
LOOK_AGAIN_ALSO: Final = ("read-if-clear", "shake", "temperature")
PROOF_ALSO: Final = ("look", "shake", "count", "malolactic")
BOTTLE_ALSO: Final = ("read", *PROOF_ALSO)

# fmt: off
ANY: Final = (
    Row("A1b", Kind.NOTHING,
        lambda f, _: bool(f.about.spare_for),
        lambda f: days_on(newest(f.began, f.done.get(Kind.BUNG)), 30)),
    Row("A2", Kind.ANSWER,
        lambda f, _: f.gravity.odd_on is not None,
        lambda f: newest(f.gravity.odd_on), ("read",)),
)
FERMENTING: Final = (
    Row("F1", Kind.RACK,
        lambda f, _: f.gravity.near and (f.calm or f.settled) and not waits.raced(f),
        waits.near_and_quiet_on, RACK_ALSO,
        until=lambda f: days_on(waits.near_and_quiet_on(f), 21)),
    Row("F1b", Kind.COUNT,
        lambda f, _: f.gravity.near and f.air.counted_on is None and not waits.raced(f),
        lambda f: f.gravity.near_on, ("temperature",)),
    Row("F2", Kind.RACK,
        lambda f, _: f.air.slowing_seen and f.quiet_in_the_warm and not f.gravity.slow
        and not (f.known.curve_failed or f.known.sudden or f.silent_since_handled),
        lambda f: newest(f.air.quiet_five_days_on), RACK_ALSO),
    Row("F3b", Kind.COUNT,
        lambda f, on: f.sweet and (f.untouched or (f.in_lag and on < f.lag_ends)),
        lambda f: counted_plus(f, 1), ("temperature",)),
    Row("F3", Kind.COUNT,
        lambda f, on: f.untouched or (f.in_lag and on < f.lag_ends),
        lambda f: counted_plus(f, 1), ("temperature",)),
    Row("F4", Kind.BUNG,
        lambda f, _: f.in_lag and not f.was_done(Kind.BUNG, f.sugar_in),
        lambda f: f.lag_ends, ("count",)),
    Row("F5", Kind.BUNG,
        lambda f, _: f.silent_since_handled and not f.gravity.near
        and not f.was_done(Kind.BUNG, f.handled_on),
        lambda f: days_on(newest(f.handled_on), 1), ("read",)),
    Row("F6", Kind.BUNG,
        lambda f, _: f.known.leak_on is not None and not f.was_done(Kind.BUNG, f.known.leak_on),
        lambda f: newest(f.known.leak_on)),
    Row("F7", Kind.COUNT,
        lambda f, _: waits.uncounted_since_warmed(f) and not f.gravity.near,
        lambda f: days_on(newest(f.cold.warmed_on), 3), ("temperature",)),
    Row("F8", Kind.COUNT,
        lambda f, _: f.asleep and f.cold.on_purpose,
        lambda f: days_on(newest(f.air.counted_on, f.cold.since), 30), ("temperature",)),
    Row("F9", Kind.WARM,
        lambda f, _: f.asleep,
        lambda f: newest(f.cold.since)),
    Row("F10", Kind.COUNT,
        lambda f, _: f.air.state == "busy",
        lambda f: counted_plus(f, 3)),
    Row("F11", Kind.READ,
        lambda f, _: f.idle and f.gravity.near,
        lambda f: read_plus(f, FLAT_DAYS), ("press",)),
    Row("F12", Kind.READ,
        lambda f, _: f.idle and not f.gravity.slow,
        waits.quiet_or_pressed_on, ("count", "press")),
    Row("F13", Kind.READ,
        lambda f, _: f.idle and f.gravity.high and bool(f.gravity.fall_per_day),
        waits.low_on, ("count",)),
    Row("F14", Kind.READ,
        lambda f, _: f.idle and f.gravity.high and f.gravity.fall_per_day is None,
        lambda f: read_plus(f, FLAT_DAYS), ("press", "count")),
    Row("F15", Kind.WARM,
        lambda f, _: f.to_help and f.cold.warm_since is None,
        lambda f: read_plus(f, 0)),
    Row("F16", Kind.ROUSE,
        lambda f, _: f.to_help and not f.was_done(Kind.ROUSE, f.gravity.slow_since),
        lambda f: newest(read_plus(f, 0), days_on(newest(f.cold.warm_since), 7))),
    Row("F17", Kind.READ,
        lambda f, _: f.stuck and waits.unread_since_treated(f),
        waits.treated_on, ("count",)),
    Row("F18", Kind.RESTART,
        lambda f, _: f.to_help and not f.was_done(Kind.RESTART, f.gravity.slow_since),
        lambda f: read_plus(f, 0)),
    Row("F19", Kind.STABILISE,
        lambda f, _: f.stuck,
        lambda f: read_plus(f, 0), ("read", "taste")),
    Row("F20", Kind.READ,
        lambda f, _: f.air.twice_slow_on is not None and not f.gravity.slow
        and not f.samples_spent,
        lambda f: newest(f.air.twice_slow_on), ("count", "temperature")),
    Row("F21", Kind.COUNT,
        lambda _f, _: True,
        lambda f: counted_plus(f, 2 if f.air.fast else 1), ("temperature",)),
)
CLEARING: Final = (
    Row("C0", Kind.READ, lambda f, _: f.sugar_noted_on is not None,
        lambda f: days_on(newest(f.sugar_noted_on), 1), ("count",), rest=1),
    Row("C1", Kind.READ,
        lambda f, _: f.air.back_on is not None and read_plus(f, 0) < f.air.back_on,
        lambda f: newest(f.air.back_on), ("count", "temperature"), rest=FLAT_DAYS),
    Row("C2", Kind.LOOK,
        lambda f, _: f.cellar.prickle_on is not None,
        lambda f: days_on(newest(f.cellar.prickle_on), 14), ("temperature",)),
    Row("C3", Kind.LOOK,
        lambda f, on: f.on_finings and not f.looked_since_fined and on < f.finings_end,
        lambda f: days_on(newest(f.cellar.fined_on), f.cellar.fining_days), rest=0),
    Row("C4", Kind.RACK,
        lambda f, _: f.on_finings,
        lambda f: f.cellar.clear_on or f.finings_end, RACK_ALSO, rest=0),
    Row("C5", Kind.RACK,
        lambda f, _: f.cellar.lees_on is not None and not f.cellar.filtered,
        lambda f: newest(f.cellar.lees_on), RACK_ALSO),
    Row("C6", Kind.TOP_UP,
        lambda f, on: waits.airy_since_racked(f) and on <= waits.racked_plus(f, 7),
        lambda f: waits.racked_plus(f, 1),
        until=lambda f: waits.racked_plus(f, 7)),
    Row("C7", Kind.READ,
        lambda f, _: waits.held_unread(f) and not waits.looked_at_in_hold(f),
        waits.hold_ends, PROOF_ALSO),
    Row("C8", Kind.LOOK,
        lambda f, _: f.cellar.clear_on is None and f.cellar.cloudy_on is None,
        waits.first_look_on, LOOK_ALSO),
    Row("C9", Kind.LOOK,
        lambda f, _: waits.still_clearing(f),
        waits.next_look_on, LOOK_AGAIN_ALSO),
    Row("C10", Kind.RACK,
        lambda f, _: f.cellar.cloudy_on is not None and f.cellar.rackings < 3
        and not f.cellar.filtered,
        lambda f: newest(f.cellar.cloudy_on), RACK_ALSO),
    Row("C11", Kind.CHILL,
        lambda f, _: f.cellar.cloudy_on is not None
        and not f.was_done(Kind.CHILL, waits.racked_plus(f, 0)),
        lambda f: newest(f.cellar.cloudy_on)),
    Row("C11b", Kind.FINE,
        lambda f, _: f.cellar.cloudy_on is not None,
        lambda f: days_on(newest(f.done.get(Kind.CHILL)), 30)),
    Row("C12a", Kind.READ,
        lambda f, _: not f.proven and ODD in f.known.missing,
        lambda f: read_plus(f, 1), ("count",), rest=1),
    Row("C12d", Kind.COUNT,
        lambda f, _: not f.proven and f.two_apart and f.known.recount_on is not None,
        lambda f: newest(f.known.recount_on, f.cellar.ripe_on), ("temperature",)),
    Row("C12b", Kind.COUNT,
        lambda f, _: f.two_apart and f.known.missing == {BUBBLING},
        lambda f: counted_plus(f, waits.BUBBLING_DAYS),
        ("look", "shake", "malolactic", "temperature")),
    Row("C12", Kind.READ,
        lambda f, _: not f.proven and not f.above_end,
        waits.proof_read_on, PROOF_ALSO),
    Row("C12c", Kind.LOOK,
        lambda f, _: f.proven and f.cellar.still_on is None,
        lambda f: newest(f.cellar.ripe_on, f.gravity.read_on), ("count",)),
    Row("C13", Kind.WARM,
        lambda f, _: f.above_end and f.cold.warm_since is None,
        lambda f: newest(f.gravity.read_on, f.cellar.clear_on)),
    Row("C14", Kind.READ,
        lambda f, _: f.above_end and read_plus(f, 0) < waits.warm_proof_on(f),
        waits.warm_proof_on, PROOF_ALSO),
    Row("C15", Kind.STABILISE,
        lambda f, _: f.above_end,
        lambda f: read_plus(f, 0), ("read", "sugar-test", "test-bottle")),
    Row("C16", Kind.LOOK,
        lambda f, _: f.cellar.malolactic_open,
        lambda f: newest(f.proven_on, days_on(newest(f.done.get(Kind.LOOK), f.phase_on), 14)),
        ("malolactic", "shake", "read", "temperature")),
    Row("C17", Kind.BOTTLE,
        lambda f, on: on < f.proven_on,
        lambda f: f.proven_on, BOTTLE_ALSO),
    Row("C18", Kind.READ,
        lambda f, on: on > read_plus(f, waits.READ_FRESH_DAYS),
        lambda f: read_plus(f, waits.READ_FRESH_DAYS + 1), PROOF_ALSO),
    Row("C18b", Kind.COUNT,
        waits.count_stale,
        waits.stale_count_on, ("read", "look", "shake")),
    Row("C19", Kind.BOTTLE,
        lambda _f, _: True,
        lambda f: f.proven_on, BOTTLE_ALSO, until=waits.bottle_until),
)
BOTTLED: Final = (
    Row("B1", Kind.RESCUE,
        lambda f, _: f.bottles is not None and f.bottles.danger_on is not None,
        lambda f: newest(f.bottles.danger_on if f.bottles else None, f.phase_on)),
    Row("B2", Kind.LAY,
        lambda f, on: f.bottles is not None and f.bottles.corked and on <= bottled_plus(f, 5),
        lambda f: bottled_plus(f, 5)),
    Row("B3", Kind.WATCH,
        lambda f, on: f.bottles is not None and f.bottles.sparkling and on <= bottled_plus(f, 14),
        lambda f: bottled_plus(f, 14)),
    *(_watch(days) for days in (7, 14, 28, 56)),
    Row("B5", Kind.DRINK,
        lambda f, on: on >= waits.fades_on(f),
        lambda f: newest(drink_from(f, bottled_plus(f)), waits.fades_on(f)),
        until=lambda f: keeps_until(f, bottled_plus(f))),
    Row("B6", Kind.DRINK,
        lambda _f, _: True,
        lambda f: drink_from(f, bottled_plus(f)),
        until=lambda f: keeps_until(f, bottled_plus(f))),
)
# fmt: on

TABLE: Final[Mapping[Phase, tuple[Row, ...]]] = {
    Phase.FERMENTING: (*ANY, *FERMENTING),
    Phase.CLEARING: (*ANY, *CLEARING),
    Phase.BOTTLED: BOTTLED,
    Phase.EMPTY: (Row("A1", Kind.NOTHING, lambda _f, _: True, lambda f: f.phase_on),),
}
