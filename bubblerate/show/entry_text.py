"""Confirms a row that was just written, and asks about what looks like a mistake."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from .diary_text import visit_text

if TYPE_CHECKING:
    from ..diary.outcomes import Written
    from ..diary.visit import Visit

__all__ = ["doubt_texts", "struck_text", "taken_back_text", "written_text"]

_AS_THEY_ARE: Final = frozenset({"added", "bottled", "note"})


def written_text(vessel: str, written: Written) -> str:
    """Say what was written for a jar, and on which line."""
    return f"{vessel}: {visit_text(written.visit)}. Line {written.line}."


def doubt_texts(written: Written) -> tuple[str, ...]:
    """Put what looks like a mistake as questions; questions and notices stay as they are."""
    return tuple(
        doubt.text if doubt.code in _AS_THEY_ARE else f"Is that right? {doubt.text}"
        for doubt in written.doubts
    )


def taken_back_text(vessel: str, visit: Visit) -> str:
    """Say which row of a jar counts again."""
    return f"{vessel}: counts again, line {visit.line}: {visit_text(visit)}."


def struck_text(vessel: str, visit: Visit) -> str:
    """Say which row of a jar was struck."""
    return f"{vessel}: struck line {visit.line}: {visit_text(visit)}."
