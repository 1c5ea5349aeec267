"""The work in the cellar: rackings, fining, filtering, each with its day or window.

Days are calendar days. A step still to come stands at the first day on which its waits allow it.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING, Final, Literal

from ..verdict import cautions

if TYPE_CHECKING:
    from collections.abc import Iterator

    from ..diary.settings import Keeping
    from ..verdict.judgement import Judgement
    from .standing import Standing

__all__ = [
    "PRACTICE",
    "State",
    "Step",
    "filtering",
    "fining",
    "first_racking",
    "later_rackings",
    "step_key",
    "step_title",
]

State = Literal["done", "due", "dropped"]

_FINE_AFTER_RACKINGS: Final = 3  # and not clear: a makers' handout
_ORDINALS: Final = ("first", "second", "third", "fourth", "fifth", "sixth")

PRACTICE: Final = "common practice"
HANDBOOK: Final = "a handbook's rule as makers quote it: 30 to 60 days"
CLUB: Final = "a makers' handout"


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One step.

    Attributes
    ----------
    key : str
        Names it for good, whatever its day becomes: the second racking is ``racking-2``.
    title : str
    state : {"done", "due", "dropped"}
        dropped: it stood in an earlier calendar and is not needed any more.
    on : date or None
        Day it was done, or first day it may be; None where that cannot be told yet.
    until : date or None
        Last day of a window.
    how : str
        What to do, in a sentence or two; empty for what is done.
    basis : str
        Where its day comes from.
    care : tuple of str
        Cautions that bear on it.
    """

    key: str
    title: str
    state: State
    on: date | None
    until: date | None = None
    how: str = ""
    basis: str = ""
    care: tuple[str, ...] = ()


def step_key(word: str, n: int) -> str:
    """Name of a step for good; a wine is bottled once."""
    return word if word == "bottling" else f"{word}-{n}"


def step_title(word: str, n: int) -> str:
    """Rackings are always numbered, other steps only once they are done again."""
    if n == 1 and word != "racking":
        return word.capitalize()
    return f"{_ORDINALS[n - 1]} {word}".capitalize() if n <= len(_ORDINALS) else f"{word} {n}"


def first_racking(racking: Judgement, stands: Standing) -> Step | None:
    """The racking that the verdict is about; None once it is done."""
    if stands.did("racked"):
        return None
    today, v = stands.asked_on, racking.verdict
    on, until, basis = None, None, "the verdict"
    if v.answer == "go":
        on = today
    elif (window := _window(racking, today)) is not None:
        (on, until), basis = window, "the forecast, 80 %"
    return Step(
        key="racking-1",
        title="First racking",
        state="due",
        on=on,
        until=until,
        how="When the verdict says go: siphon it off its lees, leave about 1 cm, top up, refill "
        "the airlock.",
        basis=basis,
        care=(cautions.SEALED, cautions.AIR, cautions.GLASS),
    )


def _window(racking: Judgement, today: date) -> tuple[date, date | None] | None:
    """Days in which it should fall quiet, if they lie ahead; None where nothing is foretold.

    A leak hides the bubbles, the cold puts them off, and a median that has passed while the verdict
    still waits foretold nothing: the verdict says what to do.
    """
    f, g = racking.forecast, racking.gravity
    if f is None or f.crossing.low80 is None:
        return None
    if racking.facts.warmth.cold or (g is not None and g.leak):
        return None
    if f.crossing.median is not None and f.crossing.median.date() <= today:
        return None
    on = max(f.crossing.low80.date(), today + timedelta(days=1))
    until = None if f.crossing.high80 is None else f.crossing.high80.date()
    return on, until if until is not None and until > on else None


def later_rackings(
    racking: Judgement, stands: Standing, first: Step | None, keeping: Keeping
) -> Iterator[Step]:
    """The racking after the last, while new lees fall; off finings when those had their time."""
    n, every = len(stands.did("racked")), timedelta(days=keeping.racking_days)
    key, title = step_key("racking", n + 1), step_title("racking", n + 1)
    if first is not None:
        start = first.until or first.on
        if start is not None and stands.clear.on is None:
            yield _racking(step_key("racking", 2), step_title("racking", 2), start + every)
        return
    fined, racked = stands.last_day("fined"), stands.last_day("racked")
    assert racked is not None
    if stands.on_finings and fined is not None:
        on = max(fined + timedelta(days=keeping.fining_days), stands.asked_on)
        how = "Off the finings, once they have settled."
        yield Step(
            key=key,
            title=title,
            state="due",
            on=on,
            how=how,
            basis=f"{PRACTICE}: clear in 12 to 48 h, up to 2 weeks",
            care=(cautions.GLASS, cautions.FININGS),
        )
    elif stands.clear.on is not None:
        yield Step(key=key, title=title, state="dropped", on=racked + every)
    elif n < _FINE_AFTER_RACKINGS:
        # racked while it worked: the next is for its end
        quiet = _window(racking, stands.asked_on) if racking.verdict.answer == "wait" else None
        end = stands.asked_on if quiet is None else quiet[0]
        yield _racking(key, title, max(racked + every, end), cautions.GLASS)


def _racking(key: str, title: str, on: date, *care: str) -> Step:
    how = "While new lees fall; not within 3 weeks of the last, nor over 3 months on thick lees."
    return Step(key=key, title=title, state="due", on=on, how=how, basis=HANDBOOK, care=care)


def fining(stands: Standing, keeping: Keeping) -> Iterator[Step]:
    """Chill, then fine a wine that several rackings have not cleared."""
    if stands.clear.on is not None or stands.on_finings:
        return
    n, racked = len(stands.did("fined")) + 1, stands.last_day("racked")
    on, until = None, None
    if racked is not None and len(stands.did("racked")) >= _FINE_AFTER_RACKINGS:
        chill = max(racked + timedelta(days=keeping.racking_days), stands.asked_on)
        on = chill + timedelta(days=keeping.chill_days)
        until = on + timedelta(days=keeping.fining_days)
        how = "Not clear after three rackings: 5 to 6 C cooler, if it is still cloudy."
        yield Step(
            key=f"chilling-{n}", title="Chill", state="due", on=chill, until=on, how=how, basis=CLUB
        )
    how = "Only if it will not clear by itself after three rackings and a month in the cool; by "
    how += f"the packet. Note which in the diary; then {keeping.fining_days:g} days to settle."
    yield Step(
        key=step_key("fining", n),
        title=step_title("fining", n),
        state="due",
        on=on,
        until=until,
        how=how,
        basis=CLUB,
        care=(cautions.FININGS,),
    )


def filtering(stands: Standing) -> Iterator[Step]:
    """Only of wine that is already clear."""
    if stands.did("filtered"):
        return
    clear = stands.clear.on is not None and not stands.on_finings
    how = "If you wish, and only wine that is already clear. Soak the pad first."
    on = stands.asked_on if clear else None
    yield Step(key="filtering-1", title="Filtering", state="due", on=on, how=how, basis=PRACTICE)
