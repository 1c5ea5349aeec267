"""Pictures on the disk: their size and style, what their names may end in, and saving one."""

from __future__ import annotations

import math
import textwrap
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from ...errors import InputError
from .style import RC, SMALL

if TYPE_CHECKING:
    from collections.abc import Iterator

    from matplotlib.figure import Figure

__all__ = ["SUFFIXES", "WIDTH_CM", "page", "picture_path", "save_picture", "with_key", "with_title"]

SUFFIXES = (".png", ".svg", ".pdf")
WIDTH_CM = 19.0  # of a picture, unless said; of a phone 9, of a column on A4 16

_CM_PER_INCH = 2.54
_LETTER = 0.56  # mean width of a letter, as a share of its size
_BESIDE_WORDS = 4.0  # width of the mark in a key and of the gaps beside its words, in letter sizes


@contextmanager
def page(width_cm: float, height_inches: float) -> Iterator[Figure]:
    """Give an empty figure in the style of the house, to be drawn and saved within the block.

    Parameters
    ----------
    width_cm : float
        Letters keep their size: on a narrow page there is less beside each other.
    height_inches : float
        Without the key, which makes the page longer.

    Yields
    ------
    Figure
    """
    import matplotlib
    from matplotlib.figure import Figure

    with matplotlib.rc_context():  # all is put back at the end of the block
        matplotlib.rcdefaults()
        matplotlib.rcParams.update(RC)  # type: ignore[arg-type]  # typed as keys one by one
        yield Figure(figsize=(width_cm / _CM_PER_INCH, height_inches), layout="constrained")


def with_title(figure: Figure, text: str) -> None:
    """Put a title above all panels, in as many lines as the page needs.

    Parameters
    ----------
    figure : Figure
        Of `page`.
    text : str
        A dollar in it is no formula; its own line ends are kept.
    """
    from .fonts import drawable, fonts_for

    families, lacking = fonts_for(text)
    fitting = int(72.0 * figure.get_figwidth() / (_LETTER * float(str(RC["figure.titlesize"]))))
    shown = (drawable(line, lacking) for line in text.split("\n"))
    lines = [part for line in shown for part in textwrap.wrap(line, fitting)]
    figure.suptitle("\n".join(lines), parse_math=False, fontfamily=families)


def with_key(figure: Figure) -> None:
    """Say below all panels what the marks mean, on a page made longer by as much.

    Parameters
    ----------
    figure : Figure
        Of `page`, drawn.
    """
    # one entry for a mark that several panels share
    named = {
        label: handle
        for ax in figure.axes
        for handle, label in zip(*ax.get_legend_handles_labels(), strict=True)
    }
    longest = SMALL * (_LETTER * max(map(len, named)) + _BESIDE_WORDS) / 72.0
    columns = max(1, min(len(named), int(figure.get_figwidth() / longest)))
    figure.legend([*named.values()], [*named], loc="outside lower center", ncols=columns)
    lines = math.ceil(len(named) / columns)
    figure.set_figheight(figure.get_figheight() + 1.6 * SMALL * lines / 72.0)


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
