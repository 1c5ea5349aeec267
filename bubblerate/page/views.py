"""Prepares judgements and diaries for the templates, in the words of the screens."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

from ..course.figures import figures
from ..diary.folder import Unread
from ..diary.stock import stock
from ..diary.sugar_notes import open_note
from ..shelf.common_move import common_move
from ..shelf.overview import due_first, glance_of, unread
from ..show.after_text import after_lines, stands_text
from ..show.diary_text import last_count_text, note_text, visit_text
from ..show.guide_text import guide_pairs, topic_of
from ..show.shelf_text import Words, move_text, words_of
from ..show.step_text import PHASES
from ..show.verdict_text import asked_text, next_step_text, told
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

__all__ = ["JarView", "Line", "ShelfView", "jar_view", "shelf_view"]

_ROWS_SHOWN: Final = 8


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """A jar on the shelf: its words, or its error."""

    jar: str
    stands: str = ""
    words: Words | None = None
    fault: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ShelfView:
    """The shelf: its jars, most urgent first, and what all of them did together."""

    lines: tuple[Line, ...]
    move: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class RowView:
    """A row of a diary, and its mark for striking it."""

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
        Phase, and since when.
    asked : str
        The open question, and the short answer.
    told : tuple of (str, str)
        The answer, and each part of the reasons.
    next : str
        The next step.
    later : tuple of (str, str)
        What follows.
    guide : tuple of (str, str)
        How to do the next step, if there is more to say.
    rows : tuple of RowView
        The last rows of its diary, newest first.
    offer : Offer
    last : str
        The last count, or why it is unknown.
    note, note_when : str
        The question about a note that mentions sugar, and the time of that note in ISO 8601.
    emptied : bool
        Whether the jar is empty, so that nothing can be counted or poured.
    about : mapping of str to str
        Its settings, by the field of the form.
    sizes : tuple of str
        Sizes [cl] to choose from when a bottle is opened, if there are several.
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
    next: str = ""
    later: tuple[tuple[str, str], ...] = ()
    guide: tuple[tuple[str, str], ...] = ()
    rows: tuple[RowView, ...] = ()
    emptied: bool = False
    about: Mapping[str, str] = field(default_factory=dict)
    sizes: tuple[str, ...] = ()
    fault: str = ""


def shelf_view(found: Iterable[Judgement | Unread], *, at: datetime) -> ShelfView:
    """Prepare the shelf."""
    seen = [*found]
    glances = due_first(unread(one) if isinstance(one, Unread) else glance_of(one) for one in seen)
    stands = {one.verdict.vessel: stands_text(one) for one in seen if not isinstance(one, Unread)}
    move = common_move((one.departure for one in glances if one.departure), at=at)
    return ShelfView(
        lines=tuple(_line(one, stands) for one in glances),
        move="" if move is None else move_text(move),
    )


def jar_view(jar: str, found: Judgement | Unread, *, settings: Settings | None) -> JarView:
    """Prepare the page of a jar.

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
    note = open_note(found.diary.batch)
    return JarView(
        jar=jar,
        offer=offer(found.verdict.next.kind),
        last=last_count_text(found.diary),
        note="" if note is None else note_text(note),
        note_when="" if note is None else note.when.isoformat(),
        phase=_phase(found),
        asked=asked[0].upper() + asked[1:],
        told=told(found),
        next=next_step_text(found),
        later=_later(found, settings),
        guide=_guide(found),
        about=_about(found, settings),
        rows=tuple(_row(visit) for visit in reversed(found.diary.live[-_ROWS_SHOWN:])),
        emptied=found.phase in (Phase.BOTTLED, Phase.EMPTY),
        sizes=() if left is None else left.to_ask,
    )


def _later(found: Judgement, settings: Settings) -> tuple[tuple[str, str], ...]:
    """What comes after the next step."""
    try:
        return after_lines(found, figures(found, settings=settings))[1:]
    except Exception as err:  # noqa: BLE001 - a fault of ours here must not stop the verdict
        return (("fault", told_fault(found.verdict.vessel, err)),)


def _guide(found: Judgement) -> tuple[tuple[str, str], ...]:
    """How to do the next step."""
    topic = None if found.course is None else topic_of(found.course)
    if found.course is None or topic is None:
        return ()
    return tuple(guide_pairs(found.course, topic, vessel=found.verdict.vessel))


def _about(found: Judgement, settings: Settings) -> dict[str, str]:
    """Its settings, as its form shows them."""
    said = settings.vessel(found.diary.vessel)
    return {
        "style": said.style or "",
        "ph": "" if said.ph is None else plain(said.ph),
        "full": "" if said.full_litres is None else plain(said.full_litres),
    }


def _phase(found: Judgement) -> str:
    course = found.course
    if course is None:
        return PHASES[found.phase]
    return f"{PHASES[found.phase]}, day {(course.asked_on - course.facts.began).days}"


def _line(glance: Glance, stands: Mapping[str, str]) -> Line:
    line = glance.line
    if isinstance(line, Unread):
        return Line(jar=line.vessel, fault=line.error)
    return Line(jar=line.vessel, stands=stands[line.vessel], words=words_of(line))


def _row(visit: Visit) -> RowView:
    return RowView(line=visit.line, text=visit_text(visit), mark=row_mark(visit))
