"""Words what was heard in a sound file, for people and as JSON."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..text import format_rate, format_rates, format_seconds

if TYPE_CHECKING:
    from ..diary.sound.bubbles import Heard

__all__ = ["heard_object", "heard_text"]


def heard_text(heard: Heard, name: str, *, onsets: bool) -> str:
    """Write what was heard.

    Parameters
    ----------
    heard : Heard
    name : str
        Of the file.
    onsets : bool
        Whether to list the start of each bubble.

    Returns
    -------
    str
        Several lines, no line end after the last.
    """
    spell = format_seconds(round(heard.seconds, 1))
    lines = [
        f"{name}: {heard.bubbles} in {spell} = {format_rate(heard.per_min)} "
        f"({format_rates(heard.low80, heard.high80)})",
        "  The bubbles stand out clearly; the count can be written down."
        if heard.trusted
        else f"  Cannot tell. {heard.why}",
    ]
    if onsets:
        lines += [f"  {i:>4}  {at_s:9.2f} s" for i, at_s in enumerate(heard.onsets_s, 1)]
    return "\n".join(lines)


def heard_object(heard: Heard) -> dict[str, object]:
    """Give what was heard, with the names that `--json` prints."""
    names = ("bubbles", "seconds", "per_min", "low80", "high80", "onsets_s", "trusted")
    return {name: getattr(heard, name) for name in names}
