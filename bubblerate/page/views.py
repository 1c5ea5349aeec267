"""What the templates show of judgements and diaries, in the words of the screens."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

from ..course.figures import figures
from ..diary.doubts import open_note
from ..diary.folder import Unread
from ..diary.stock import stock
from ..shelf.common_move import common_move
from ..shelf.overview import due_first, glance_of, unread
from ..show.after_text import after_lines, stands_text
from ..show.diary_text import last_count_text, note_text, visit_text
from ..show.guide_text import guide_pairs, topic_of
from ..show.shelf_text import Words, move_text, words_of
from ..show.verdict_text import asked_text, told
from ..text import plain
from ..verdict.reasons import Phase
from .entries import row_mark
from .faults import told_fault
from .offers import offer

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from datetime import datetime

    from ..course.judgement import Judgement
    from ..diary.settings import Settings
    from ..diary.visit import Visit
    from ..shelf.overview import Glance
    from .offers import Offer

__all__ = ["JarView", "Line", "RowView", "ShelfView", "jar_view", "shelf_view"]

_ROWS_SHOWN: Final = 8


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """A jar on the shelf: its words, or why it has none."""

    jar: str
    stands: str = ""
    words: Words | None = None
    fault: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ShelfView:
    """The shelf: its jars, what is due first on top, and what all of them did together."""

    lines: tuple[Line, ...]
    move: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class RowView:
    """A row of a diary, and what names it when it is struck."""

    line: int
    text: str
    mark: str


@dataclass(frozen=True, slots=True, kw_only=True)
class JarView:
    """A jar.

    Attributes
    ----------
    jar : str
    phase : str
        With the day of its course.
    asked : str
        The question that is open, and the short answer.
    told : tuple of (str, str)
        The answer, and each part of what leads to it.
    later : tuple of (str, str)
        What follows.
    guide : tuple of (str, str)
        How the next step is done, where there is more to say of it.
    rows : tuple of RowView
        The last of its diary, newest first.
    offer : Offer
    last : str
        The last count, or why it is not known.
    note, note_when : str
        The question about a note that mentions sugar, and when that was written, as ISO 8601.
    emptied : bool
        Whether none of it is in the jar any more: nothing can be counted or poured.
    about : mapping of str to str
        What is set of it, by the field of its form.
    sizes : tuple of str
        Sizes [cl] of which a bottle that is opened may be, where there are several.
    fault : str
        Why it cannot be judged; then all else is empty.
    """

    jar: str
    offer: Offer
    last: str
    note: str = ""
    note_when: str = ""
    phase: str = ""
    asked: str = ""
    told: tuple[tuple[str, str], ...] = ()
    later: tuple[tuple[str, str], ...] = ()
    guide: tuple[tuple[str, str], ...] = ()
    rows: tuple[RowView, ...] = ()
    emptied: bool = False
    about: Mapping[str, str] = field(default_factory=dict)
    sizes: tuple[str, ...] = ()
    fault: str = ""


def shelf_view(found: Iterable[Judgement | Unread], *, at: datetime) -> ShelfView:
    """Lay out a shelf."""
    seen = [*found]
    glances = due_first(unread(one) if isinstance(one, Unread) else glance_of(one) for one in seen)
    stands = {one.verdict.vessel: stands_text(one) for one in seen if not isinstance(one, Unread)}
    move = common_move((one.departure for one in glances if one.departure), at=at)
    return ShelfView(
        lines=tuple(_line(one, stands) for one in glances),
        move="" if move is None else move_text(move),
    )


def jar_view(jar: str, found: Judgement | Unread, *, settings: Settings | None) -> JarView:
    """Lay out a jar.

    Parameters
    ----------
    jar : str
    found : Judgement or Unread
    settings : Settings or None
        None if they cannot be read; then there is no judgement either.

    Returns
    -------
    JarView
    """
    if isinstance(found, Unread) or settings is None:
        fault = found.error if isinstance(found, Unread) else ""
        return JarView(jar=jar, offer=offer(None), last=fault, fault=fault)
    asked, left = asked_text(found), stock(found.diary.batch)
    note = open_note(found.diary)
    return JarView(
        jar=jar,
        offer=offer(found.verdict.next.kind),
        last=last_count_text(found.diary),
        note="" if note is None else note_text(note),
        note_when="" if note is None else note.when.isoformat(),
        phase=_phase(found),
        asked=asked[0].upper() + asked[1:],
        told=told(found),
        later=_later(found, settings),
        guide=_guide(found),
        about=_about(found, settings),
        rows=tuple(_row(visit) for visit in reversed(found.diary.live[-_ROWS_SHOWN:])),
        emptied=found.phase in (Phase.BOTTLED, Phase.EMPTY),
        sizes=() if left is None else left.to_ask,
    )


def _later(found: Judgement, settings: Settings) -> tuple[tuple[str, str], ...]:
    """What follows the next step."""
    try:
        return after_lines(found, figures(found, settings=settings))[1:]
    except Exception as err:  # noqa: BLE001 - a fault of ours here must not cost the verdict
        return (("fault", told_fault(found.verdict.vessel, err)),)


def _guide(found: Judgement) -> tuple[tuple[str, str], ...]:
    """How the next step is done."""
    topic = None if found.course is None else topic_of(found.course)
    if found.course is None or topic is None:
        return ()
    return tuple(guide_pairs(found.course, topic, vessel=found.verdict.vessel))


def _about(found: Judgement, settings: Settings) -> dict[str, str]:
    """As its form shows what is set."""
    said = settings.vessel(found.diary.vessel)
    return {
        "style": said.style or "",
        "ph": "" if said.ph is None else plain(said.ph),
        "full": "" if said.full_litres is None else plain(said.full_litres),
    }


def _phase(found: Judgement) -> str:
    course = found.course
    if course is None:
        return found.phase.value
    return f"{found.phase.value}, day {(course.asked_on - course.facts.began).days}"


def _line(glance: Glance, stands: Mapping[str, str]) -> Line:
    line = glance.line
    if isinstance(line, Unread):
        return Line(jar=line.vessel, fault=line.error)
    return Line(jar=line.vessel, stands=stands[line.vessel], words=words_of(line))


def _row(visit: Visit) -> RowView:
    return RowView(line=visit.line, text=visit_text(visit), mark=row_mark(visit))
