"""Every picture looks as it was last looked at; `golden_pictures.py` says how they are compared."""

import matplotlib.image
import pytest

from bubblerate.show.pictures import marks

from golden_pictures import CASES, FOLDER, difference, drawn, from_afar

# Rounding to 256 shades makes 0.001; a curve that stands a quarter too high, 0.008.
TOLERANCE = 0.002


def kept(name):
    return matplotlib.image.imread(FOLDER / f"{name}.png")[..., :3]


@pytest.mark.parametrize("name", CASES)
def test_a_picture_looks_as_it_did(tmp_path, name):
    seen = from_afar(drawn(CASES[name], tmp_path / f"{name}.png"))
    assert seen.shape == kept(name).shape
    assert difference(seen, kept(name)) < TOLERANCE


@pytest.mark.parametrize("name", ["tail", "shelf"])
def test_a_curve_that_has_moved_is_seen(tmp_path, monkeypatch, name):
    right = marks.rate_bands  # type: ignore[attr-defined]
    monkeypatch.setattr(marks, "rate_bands", lambda *a, **k: 1.25 * right(*a, **k))
    moved = from_afar(drawn(CASES[name], tmp_path / f"{name}.png"))
    assert difference(moved, kept(name)) > TOLERANCE


def test_every_picture_kept_is_one_that_is_drawn():
    assert {path.stem for path in FOLDER.iterdir()} == {*CASES}
