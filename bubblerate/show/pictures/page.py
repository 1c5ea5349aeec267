"""The look of all pictures, and saving them.

Colours are our choice: different in hue for common sight, and in darkness for grey prints and
colour-blind eyes; `tests/show/pictures/test_page.py` checks that in numbers. No two marks in a
picture differ by colour alone: shape, fill or line style differs too. The drawing library is loaded
only when something is drawn.
"""

from __future__ import annotations

import io
import math
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Final

from ...diary.safe_write import check_output, save_output
from ...errors import InputError

if TYPE_CHECKING:
    from collections.abc import Iterator

    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = [
    "A4_INCHES",
    "ASH",
    "BARS",
    "FIRST_FONT",
    "INK",
    "LEAF",
    "RC",
    "RUST",
    "SEA",
    "SIDE",
    "SMALL",
    "WIDTH_CM",
    "axes_or_new",
    "new_axes",
    "page",
    "picture_bytes",
    "picture_path",
    "save_picture",
]

INK: Final = "#1C1C1C"  # counts, words
SEA: Final = "#062981"  # what is fitted, forecast
RUST: Final = "#D43410"  # the threshold, and when it is crossed
LEAF: Final = "#0B6145"  # the gravity it should end at
ASH: Final = "#8F8F8F"  # what is not used

BARS: Final = 1.0  # width of an error bar [points]
SIDE: Final = 1.2  # width of a secondary line
SMALL: Final = 7.5  # smallest letters [points]

FIRST_FONT: Final = "DejaVu Sans"  # comes with the drawing library, the same everywhere

# Settings of the drawing library while we draw.
RC: Final[dict[str, object]] = {
    "font.family": FIRST_FONT,
    "font.size": 8.5,
    "axes.labelsize": 8.5,
    "axes.titlesize": 9.0,
    "axes.titley": 1.0,  # given here, or each panel is measured for it when drawn
    "figure.titlesize": 10.5,
    "xtick.labelsize": 8.0,
    "ytick.labelsize": 8.0,
    "legend.fontsize": SMALL,
    "legend.frameon": False,
    "legend.columnspacing": 1.2,
    "legend.handlelength": 1.8,
    "text.color": INK,
    "axes.labelcolor": INK,
    "axes.edgecolor": INK,
    "xtick.color": INK,
    "ytick.color": INK,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.grid": True,
    "axes.axisbelow": True,
    "grid.color": "#DDDDDD",
    "grid.linewidth": 0.6,
    "lines.linewidth": 1.6,
    "lines.markersize": 4.5,
}

SUFFIXES: Final = (".png", ".svg", ".pdf")
A4_INCHES: Final = (210.0 / 25.4, 297.0 / 25.4)
WIDTH_CM: Final = 19.0  # width of a picture by default; a phone has 9, a column on A4 16

_CM_PER_INCH = 2.54


@contextmanager
def page(width_cm: float, height_inches: float) -> Iterator[Figure]:
    """Give an empty figure in our style, to be drawn and saved within the block.

    Parameters
    ----------
    width_cm : float
        Letters keep their size, so a narrow page has less side by side.
    height_inches : float
        At first; `layout.settle` makes it as long as its content.

    Yields
    ------
    Figure
    """
    import matplotlib
    from matplotlib.figure import Figure

    with matplotlib.rc_context():  # all is restored at the end of the block
        matplotlib.rcdefaults()
        matplotlib.rcParams.update(RC)  # type: ignore[arg-type]  # typed as keys one by one
        yield Figure(figsize=(width_cm / _CM_PER_INCH, height_inches))


def axes_or_new(ax: Axes | None) -> Axes:
    """Give Axes to draw on: those given, or one in a new figure, which a notebook shows."""
    return new_axes(1)[0] if ax is None else ax


def new_axes(number: int) -> list[Axes]:
    """Make Axes in a new pyplot figure, up to three side by side."""
    import matplotlib.pyplot as plt  # only here, since its figures stay until closed

    across = min(3, max(1, number))
    down = max(1, math.ceil(number / across))
    size = (6.4, 4.2) if number <= 1 else (3.2 * across, 2.6 * down)
    _, grid = plt.subplots(down, across, figsize=size, layout="constrained", squeeze=False)
    for ax in grid.ravel()[number:]:
        ax.remove()
    return [*grid.ravel()[:number]]


def picture_path(path: Path | str) -> Path:
    """Check the path of a picture.

    Parameters
    ----------
    path : Path or str

    Returns
    -------
    Path

    Raises
    ------
    InputError
        If it does not end in one of `SUFFIXES`, or writing there would destroy something else.
    """
    path = Path(path)
    if path.suffix.lower() not in SUFFIXES:
        raise InputError(f"{path.name}: a picture ends in {', '.join(SUFFIXES)}")
    check_output(path)
    return path


def save_picture(figure: Figure, path: Path, *, dpi: int = 150) -> Path:
    """Save a figure, or say in one line why not.

    Parameters
    ----------
    figure : Figure
    path : Path
        From `picture_path`.
    dpi : int
        Dots per inch, for a picture made of dots.

    Returns
    -------
    Path
        Where it was saved.

    Raises
    ------
    InputError
        If the file cannot be written.
    """
    save_output(path, picture_bytes(figure, path.suffix.lower().removeprefix("."), dpi=dpi))
    return path


def picture_bytes(figure: Figure, form: str, *, dpi: int = 150) -> bytes:
    """Turn a figure into the bytes of a file ("png", "svg" or "pdf"), drawn once.

    `Figure.savefig` would draw it twice, first for the layout.
    """
    drawn = io.BytesIO()
    if form == "png":
        from matplotlib.backends.backend_agg import FigureCanvasAgg

        figure.set_dpi(dpi)
        FigureCanvasAgg(figure).print_png(drawn)
    elif form == "svg":
        from matplotlib.backends.backend_svg import FigureCanvasSVG

        FigureCanvasSVG(figure).print_svg(drawn)
    else:
        from matplotlib.backends.backend_pdf import FigureCanvasPdf

        FigureCanvasPdf(figure).print_pdf(drawn)
    return drawn.getvalue()
