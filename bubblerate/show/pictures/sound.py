"""Draws what was heard in a sound file: Axes in, the same Axes out; no display."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from ...diary.sound.pulses import BAND_HZ, loudness
from ...text import format_rate, format_rates
from .layout import panels, settle
from .page import RUST, SEA, WIDTH_CM, page, picture_path, save_picture

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from numpy.typing import NDArray

    from ...diary.sound.bubbles import Heard

__all__ = ["plot_sound", "save_sound"]

_INCHES = 2.4  # height
_LONG_S = 600.0  # longer files are shown in minutes


def plot_sound(
    heard: Heard, at_s: NDArray[np.float64], level_db: NDArray[np.float64], ax: Axes
) -> Axes:
    """Draw the loudness of a sound file with a mark over each bubble.

    Parameters
    ----------
    heard : Heard
    at_s, level_db : ndarray, shape (n,)
        Loudness by time, of `bubblerate.pulses.loudness`.
    ax : Axes
        Drawn on.

    Returns
    -------
    Axes
        The same.
    """
    unit_s, unit = (60.0, "min") if heard.seconds >= _LONG_S else (1.0, "s")
    ax.plot(at_s / unit_s, level_db, color=SEA, lw=0.7, label="loudness")
    low, high = (np.min(level_db), np.max(level_db)) if len(level_db) else (-60.0, 0.0)
    reach = max(float(high - low), 1.0)
    onsets = np.array(heard.onsets_s) / unit_s
    ax.plot(
        onsets,
        np.full(len(onsets), high + 0.06 * reach),
        "v",
        color=RUST if heard.trusted else "white",
        mec=RUST,
        ms=6,
        label=f"bubbles heard, {heard.bubbles}" + ("" if heard.trusted else " (not trusted)"),
    )
    ax.set_xlim(0.0, heard.seconds / unit_s)
    ax.set_ylim(low - 0.05 * reach, high + 0.15 * reach)
    ax.set_xlabel(f"time from the start, {unit}")
    ax.set_ylabel(f"loudness {BAND_HZ[0]:.0f} to {BAND_HZ[1]:.0f} Hz,\ndB of full scale")
    return ax


def save_sound(heard: Heard, sound_file: Path | str, path: Path | str) -> Path:
    """Draw what was heard in a sound file and save it.

    Parameters
    ----------
    heard : Heard
    sound_file : Path or str
        The sound file, which is read once more.
    path : Path or str
        Ends in .png, .svg or .pdf.

    Returns
    -------
    Path
        Where it was saved.

    Raises
    ------
    InputError
        If the suffix is another, or a file cannot be read or written.
    """
    path = picture_path(path)
    with page(WIDTH_CM, _INCHES) as figure:
        rows = panels(figure, [_INCHES])
        plot_sound(heard, *loudness(sound_file), rows[0][0])
        rates = format_rates(heard.low80, heard.high80)
        settle(figure, rows, f"{Path(sound_file).name}: {format_rate(heard.per_min)} ({rates})")
        return save_picture(figure, path)
