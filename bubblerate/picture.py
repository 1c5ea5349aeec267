"""Pictures on the disk: what their names may end in, and saving one."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from .errors import InputError

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = ["SUFFIXES", "picture_path", "save_picture"]

SUFFIXES = (".png", ".svg", ".pdf")


def picture_path(path: Path | str) -> Path:
    """Give the path of a picture, once its suffix is one that can be drawn.

    Parameters
    ----------
    path : Path or str

    Returns
    -------
    Path

    Raises
    ------
    InputError
        If it ends in none of `SUFFIXES`.
    """
    path = Path(path)
    if path.suffix.lower() not in SUFFIXES:
        raise InputError(f"{path.name}: a picture ends in {', '.join(SUFFIXES)}")
    return path


def save_picture(figure: Figure, path: Path, *, dpi: int = 150) -> Path:
    """Save a figure, or say in one line why it cannot be.

    Parameters
    ----------
    figure : Figure
    path : Path
        As `picture_path` gives it.
    dpi : int
        Dots an inch, where the picture is made of dots.

    Returns
    -------
    Path
        Where it was saved.

    Raises
    ------
    InputError
        If the file cannot be written.
    """
    try:
        figure.savefig(path, dpi=dpi)
    except OSError as err:
        raise InputError(f"{path}: cannot be written: {err.strerror}") from err
    return path
