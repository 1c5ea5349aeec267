"""Pictures to compare with, and how: `python tests/golden_pictures.py` draws them anew.

Only what the plot functions draw, on panels that do not move and with no letters, for letters and
the room they take differ from one version of the drawing library to the next; and as it looks from
afar, one dot for a square of 8, for so do edges. Look at the large ones before you keep them.
"""

import tempfile
from pathlib import Path

import matplotlib.image
import numpy as np
from matplotlib.text import Text

from bubblerate.course.judgement import judge
from bubblerate.diary.reading import read
from bubblerate.diary.settings_file import settings
from bubblerate.diary.sound.bubbles import Heard
from bubblerate.shelf.coverage import in_hindsight
from bubblerate.show.pictures.backtest import plot_coverage, plot_errors
from bubblerate.show.pictures.gravity import plot_gravity
from bubblerate.show.pictures.page import page, save_picture
from bubblerate.show.pictures.residuals import plot_residuals
from bubblerate.show.pictures.shelf import plot_shelf
from bubblerate.show.pictures.sound import plot_sound
from bubblerate.show.pictures.tail import plot_tail

from hindsight import asked, vessel
from scenes import EXAMPLES

FOLDER = Path(__file__).parent / "golden" / "pictures"
_SQUARE = 8


def judged(name):
    diary = read(EXAMPLES / f"{name}.csv")
    return judge(diary, at=diary.live[-1].when, settings=settings(EXAMPLES))


def tail(figure):
    below, above = panels(figure, 2, 1)
    plot_tail(judged("chestnut-honey-mead"), above)
    plot_gravity(judged("chestnut-honey-mead"), below)


def leak(figure):
    plot_tail(judged("russet-cider"), *panels(figure, 1, 1), axis="linear")


def residuals(figure):
    plot_residuals(judged("damson"), *panels(figure, 1, 1))


def shelf(figure):
    plot_shelf([judged(name) for name in ("medlar", "perry-pear", "sloe")], panels(figure, 1, 3))


def backtest(figure):
    jars = [
        vessel("fig", asked(2), asked(1, error=4), asked(9, error=-3)),
        vessel("pear", asked(5)),
    ]
    found = in_hindsight(jars)
    below, above = panels(figure, 2, 1)
    plot_errors(found.evenings, above)
    plot_coverage(found.rows, below)


def sound(figure):
    at_s = np.linspace(0.0, 60.0, 600)
    onsets = (5.0, 17.5, 30.0, 44.0)
    level = -50.0 + sum(20.0 * np.exp(-np.abs(at_s - onset)) for onset in onsets)
    heard = Heard(
        bubbles=4,
        seconds=60.0,
        per_min=4.0,
        low80=2.0,
        high80=8.0,
        onsets_s=onsets,
        trusted=True,
        why="",
    )
    plot_sound(heard, at_s, np.asarray(level), *panels(figure, 1, 1))


def panels(figure, rows, columns):
    """Panels on fixed places, from the lowest row up."""
    width, height = 1.0 / columns, 1.0 / rows
    return [
        figure.add_axes((x * width + 0.02, y * height + 0.02, width - 0.04, height - 0.04))
        for y in range(rows)
        for x in range(columns)
    ]


def drawn(case, path):
    """Draw one without its letters."""
    with page(16.0, 4.0) as figure:
        figure.set_layout_engine("none")
        case(figure)
        for text in figure.findobj(Text):
            text.set_visible(False)
        return save_picture(figure, path)


CASES = {case.__name__: case for case in (tail, leak, residuals, shelf, backtest, sound)}


def from_afar(path):
    """Colours of a picture, the mean of each square, shape (rows, columns, 3)."""
    dots = matplotlib.image.imread(path)[..., :3]
    rows, columns = (side // _SQUARE for side in dots.shape[:2])
    whole = dots[: rows * _SQUARE, : columns * _SQUARE]
    return whole.reshape(rows, _SQUARE, columns, _SQUARE, 3).mean(axis=(1, 3))


def difference(one, other):
    """Mean difference of two pictures seen from afar, of what a colour can differ at most."""
    return float(np.abs(one - other).mean())


if __name__ == "__main__":
    large = Path(tempfile.mkdtemp(prefix="pictures-"))
    for name, case in CASES.items():
        matplotlib.image.imsave(
            FOLDER / f"{name}.png", from_afar(drawn(case, large / f"{name}.png"))
        )
    print(f"Kept in {FOLDER}; as they are drawn in {large}")
