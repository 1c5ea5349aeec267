"""The look of every picture, in one place: colours, sizes, widths. No drawing here.

Colours are our own choice: far apart by hue for common sight, and by darkness for a grey print and
for colour-blind eyes, on which `tests/test_style.py` puts numbers. No two marks of a picture differ
by colour alone: shape, fill or kind of line tells them apart as well.
"""

from typing import Final

__all__ = ["ASH", "BARS", "INK", "LEAF", "RC", "RUST", "SEA", "SIDE", "SMALL"]

INK: Final = "#1C1C1C"  # counts, words
SEA: Final = "#062981"  # what is fitted, foretold
RUST: Final = "#D43410"  # the threshold, and when it is crossed
LEAF: Final = "#0B6145"  # the gravity it should end at
ASH: Final = "#8F8F8F"  # what takes no part

BARS: Final = 1.0  # width of a line that says how sure a mark is [points]
SIDE: Final = 1.2  # of a line beside the main one
SMALL: Final = 7.5  # smallest letters [points]

# Settings of the drawing library, for as long as a picture of ours is drawn.
RC: Final[dict[str, object]] = {
    "font.family": "DejaVu Sans",  # comes with the library, everywhere the same
    "font.size": 8.5,
    "axes.labelsize": 8.5,
    "axes.titlesize": 9.0,
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
