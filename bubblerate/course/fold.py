"""Folds the rows of one wine into facts, the input of the table of steps."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..verdict.reasons import Kind
from . import acts
from .cellaring import cellar, cold
from .evenings import Evenings
from .facts import Facts
from .in_bottle import bottles, doubted_on
from .jar import Jar
from .phases import phase

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from ..diary.visit import Visit
    from .inputs import About
    from .jar import Weigh

__all__ = ["fold"]


def fold(rows: Sequence[Visit], about: About, weigh: Weigh) -> Facts:
    """Work out the facts of one wine, as of its last row.

    Parameters
    ----------
    rows : sequence of Visit
        Live rows of one wine, as `Diary.batch` gives them; at least one.
    about : About
        What the maker says about the jar.
    weigh : callable
        Gives what the sums say about some rows, `Known`. It is called with all rows, and with those
        up to an evening on which something was done, to learn what was known then.

    Returns
    -------
    Facts

    Raises
    ------
    ValueError
        If there are no rows.
    """
    if not rows:
        raise ValueError("a course needs at least one row")
    jar = Jar(Evenings(tuple(rows)), about, weigh)
    in_bottle = bottles(jar)
    where, since = phase(jar, in_bottle)
    return Facts(
        about=about,
        known=jar.known,
        began=jar.began,
        start_written=jar.start_written,
        sugar_in=jar.sugar_in,
        sugar_noted_on=jar.sugar_noted_on,
        sweet=any(on == jar.sugar_in for on, _ in jar.rows.on(acts.SWEETENED)),
        handled_on=jar.rows.newest(acts.HANDLED),
        proof_from=jar.proof_from,
        phase=where,
        phase_on=since,
        air=jar.air,
        gravity=jar.gravity,
        cold=cold(jar),
        cellar=cellar(jar, where, since),
        volume=jar.volume,
        bottles=in_bottle,
        doubted_on=doubted_on(jar),
        done=done(jar.rows),
    )


def done(rows: Evenings) -> dict[Kind, date]:
    """Day of the newest row that settled each kind of step."""
    settled: dict[Kind, date | None] = {
        Kind.COUNT: max((on for on, row in rows.dated if row.bubbles is not None), default=None),
        Kind.READ: rows.readings[-1].on if rows.readings else None,
        Kind.BUNG: rows.newest(acts.BUNG),
        Kind.ROUSE: rows.newest({acts.STIRRED}),
        Kind.RESTART: rows.newest({acts.STARTER}),
        Kind.LOOK: rows.newest(acts.LOOKS),
        Kind.RACK: rows.newest(acts.RACKINGS),
        Kind.TOP_UP: rows.newest({acts.TOPPED_UP, acts.DILUTED, acts.FED}),
        Kind.CHILL: rows.newest({acts.CHILLED}),
        Kind.FINE: rows.newest(acts.FININGS),
        Kind.STABILISE: rows.newest({acts.STABILISED}),
    }
    return {kind: on for kind, on in settled.items() if on is not None}
