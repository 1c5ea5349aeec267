"""Works out from the diary what a bottle's label says.

Strength is in % vol and always an estimate. What a fining was is read from the note of its row.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from ..diary.bottles import lots
from ..diary.events import Event
from ..verdict.reasons import Kind
from .balance import balance
from .days import months_later
from .judgement import judge
from .lineage import poured_in
from .standing import standing
from .windows import usual_of

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from datetime import date, datetime

    from ..diary.outcomes import Opened
    from ..diary.settings import VesselSettings
    from ..diary.visit import Visit
    from .balance import Balance, Middle
    from .standing import Standing

__all__ = ["Label", "finings_in", "label", "label_of"]

# Words in the note of a `fined` row, and what drinkers must know about: allergens that the law
# wants named (EU 1169/2011, annex II, from memory), and gelatine, which some people avoid.
_FININGS: Final = (
    (r"egg|album[ei]n", "egg"),
    (r"milk|casein|whey", "milk"),
    (r"isinglass|(?<!shell)fish", "fish"),
    (r"chitosan|shellfish|two[- ]part", "shellfish"),
    (r"gelatin", "gelatine"),
)
_FREE_OF_THEM: Final = r"bentonite|clay|silica|pecti[nc]|enzyme|agar"
_LONGEST_NOTE: Final = 60  # characters that fit on a label


@dataclass(frozen=True, slots=True, kw_only=True)
class Label:
    """What is known about a wine in the bottle; None if unknown.

    Attributes
    ----------
    name : str
    year : int or None
        Year in which it was pitched.
    style : str or None
    litres : float or None
        Wine bottled, or in the vessel.
    abv_pct : Middle or None
        Estimate [% vol], with its 80 % range.
    bottled_on, drink_from, best_by : date or None
    contains : tuple of str
        Sulphite, and what in the finings a guest must know about.
    doubtful : tuple of str
        Finings with unknown contents.
    bottle_cl : float or None
        Size of one bottle [cl].
    may_burst : bool
        The bottles should be opened and not kept.
    doubted : bool
        They should be chilled until it is settled whether they may burst.
    """

    name: str
    year: int | None
    style: str | None
    litres: float | None
    abv_pct: Middle | None
    bottled_on: date | None
    drink_from: date | None
    best_by: date | None
    contains: tuple[str, ...]
    doubtful: tuple[str, ...]
    bottle_cl: float | None = None
    may_burst: bool = False
    doubted: bool = False


def label(
    stands: Standing,
    *,
    known: VesselSettings,
    strength: Balance | None,
    poured: Sequence[Visit] = (),
    title: str = "",
) -> Label:
    """Gather what a label says.

    Parameters
    ----------
    stands : Standing
    known : VesselSettings
    strength : Balance or None
    poured : sequence of Visit
        Rows of other jars' wines that went into it: what they contain, it contains.
    title : str
        In place of the name of the jar.

    Returns
    -------
    Label
    """
    bottled_on = stands.last_day("bottled")
    months = usual_of(
        known.style,
        drink_from_months=known.drink_from_months,
        best_by_months=known.best_by_months,
    )
    rows = (*stands.rows, *poured)
    contains, doubtful = finings_in(
        [_fining(v) for v in rows if v.event is not None and v.event.base is Event.FINED]
    )
    sulphited = any(v.event in (Event.SULPHITED, Event.STABILISED) for v in rows)
    return Label(
        name=title or stands.vessel,
        year=None if stands.pitched_on is None else stands.pitched_on.year,
        style=known.style,
        litres=_litres(stands),
        abv_pct=None if strength is None else strength.abv_pct,
        bottled_on=bottled_on,
        drink_from=None if bottled_on is None else months_later(bottled_on, months.first),
        best_by=None if bottled_on is None else months_later(bottled_on, months.keeps),
        contains=(("sulphite",) if sulphited else ()) + contains,
        doubtful=doubtful,
    )


def label_of(
    jar: Opened, *, at: datetime, of: Callable[[str], Opened | None], title: str = ""
) -> Label:
    """Gather the label of a jar, with what the wines poured into it contain.

    Parameters
    ----------
    jar : Opened
    at : datetime
        Aware; later rows are not used.
    of : callable
        Diary of another jar, by its name.
    title : str
        In place of the name of the jar.

    Returns
    -------
    Label
    """
    known = jar.settings.vessel(jar.diary.vessel)
    shown = label(
        standing(jar.diary.until(at), known=known),
        known=known,
        strength=balance(jar, at=at, of=of),
        poured=[*poured_in(jar, at=at, of=of)],
        title=title,
    )
    if shown.bottled_on is None:
        return shown
    judged = judge(jar.diary, at=at, settings=jar.settings)
    doubted = judged.course is not None and judged.course.facts.doubted_on is not None
    may_burst = judged.verdict.next.kind is Kind.RESCUE
    return replace(shown, may_burst=may_burst, doubted=doubted)


def _litres(stands: Standing) -> float | None:
    """Volume in the bottles if they were counted; else what was in the jar."""
    filled = [lot for row in stands.did("bottled") if row.bottles for lot in lots(row.bottles)]
    if not filled:
        return stands.litres
    return sum(number * float(size_cl) for size_cl, number in filled) / 100.0


def _fining(row: Visit) -> str:
    """Name of a fining; two-part ones are one kind, whose packet says what is in it."""
    return row.note or ("two-part" if row.event is Event.FINED_TWO_PART else "")


def finings_in(notes: list[str]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Find what is in the finings that notes name.

    Parameters
    ----------
    notes : list of str
        One for each time it was fined.

    Returns
    -------
    contains : tuple of str
        What a guest must know about, each once.
    doubtful : tuple of str
        Notes that name no fining known here; an empty note is "unnamed finings".

    Examples
    --------
    >>> finings_in(["silica, then chitosan", "bentonite", ""])
    (('shellfish',), ('unnamed finings',))
    """
    contains: list[str] = []
    doubtful: list[str] = []
    for note in notes:
        text = note.lower()
        found = [what for words, what in _FININGS if re.search(words, text)]
        contains += found
        if not found and not re.search(_FREE_OF_THEM, text):
            line = " ".join(note.split())
            named = line if len(line) <= _LONGEST_NOTE else f"{line[: _LONGEST_NOTE - 3]}..."
            doubtful.append(named or "unnamed finings")
    return tuple(dict.fromkeys(contains)), tuple(dict.fromkeys(doubtful))
