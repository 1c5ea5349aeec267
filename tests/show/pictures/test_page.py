"""Colours of the pictures, for all kinds of eyes and on a grey print.

Simulated with the matrices of G. M. Machado, M. M. Oliveira, L. A. F. Fernandes, "A
physiologically-based model for simulation of color vision deficiency", IEEE Trans. Vis. Comput.
Graph. 15 (2009) 1291, at severity 1.0, on linear sRGB (numbers from memory). Distances are CIE
1976, in CIELAB under D65 (sRGB: IEC 61966-2-1, from memory), in which about 2.3 can
just be told apart.
"""

from itertools import combinations

import matplotlib
import numpy as np
import pytest
from matplotlib.colors import to_rgb

from bubblerate.errors import InputError
from bubblerate.show.pictures.layout import panels, settle
from bubblerate.show.pictures.page import (
    ASH,
    INK,
    LEAF,
    RC,
    RUST,
    SEA,
    page,
    save_picture,
)

ROLES = {"counts": INK, "curve": SEA, "threshold": RUST, "finish": LEAF, "takes no part": ASH}

EYES = {
    "common": np.eye(3),
    "protanopia": np.array(
        [
            [0.152286, 1.052583, -0.204868],
            [0.114503, 0.786281, 0.099216],
            [-0.003882, -0.048116, 1.051998],
        ]
    ),
    "deuteranopia": np.array(
        [
            [0.367322, 0.860646, -0.227968],
            [0.280085, 0.672501, 0.047413],
            [-0.011820, 0.042940, 0.968881],
        ]
    ),
    "tritanopia": np.array(
        [
            [1.255528, -0.076749, -0.178779],
            [-0.078411, 0.930809, 0.147602],
            [0.004733, 0.691367, 0.303900],
        ]
    ),
    "grey print": np.tile([0.2126, 0.7152, 0.0722], (3, 1)),
}
TO_XYZ = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])
LEAST = {"grey print": 10.0}  # darkness alone; by eyes of any kind
LEAST_SEEN = 20.0


def linear(colour):
    value = np.array(to_rgb(colour))
    return np.where(value <= 0.04045, value / 12.92, ((value + 0.055) / 1.055) ** 2.4)


def lab(light):
    ratio = TO_XYZ @ np.clip(light, 0.0, 1.0) / (TO_XYZ @ np.ones(3))
    bent = np.where(ratio > (6 / 29) ** 3, np.cbrt(ratio), ratio / (3 * (6 / 29) ** 2) + 4 / 29)
    return np.array([116 * bent[1] - 16, 500 * (bent[0] - bent[1]), 200 * (bent[1] - bent[2])])


def apart(one, other, eyes):
    return float(np.linalg.norm(lab(EYES[eyes] @ linear(one)) - lab(EYES[eyes] @ linear(other))))


# Lightness of the primaries of sRGB under D65, as printed in many tables (from memory).
@pytest.mark.parametrize(
    ("colour", "published"),
    [
        ("#FFFFFF", (100.0, 0.0, 0.0)),
        ("#FF0000", (53.2, 80.1, 67.2)),
        ("#0000FF", (32.3, 79.2, -107.9)),
    ],
)
def test_lab_is_that_of_the_tables(colour, published):
    assert lab(linear(colour)) == pytest.approx(published, abs=0.3)


@pytest.mark.parametrize("eyes", EYES)
def test_eyes_of_any_kind_see_white_as_white(eyes):
    assert EYES[eyes] @ np.ones(3) == pytest.approx(np.ones(3), abs=1e-3)


@pytest.mark.parametrize(("one", "other"), [*combinations(ROLES, 2)])
@pytest.mark.parametrize("eyes", EYES)
def test_every_two_colours_can_be_told_apart(eyes, one, other):
    assert apart(ROLES[one], ROLES[other], eyes) >= LEAST.get(eyes, LEAST_SEEN)


def test_a_pair_that_is_hard_for_many_would_be_found():
    assert apart("#C03030", "#6B7A20", "common") > 60.0
    assert apart("#C03030", "#6B7A20", "deuteranopia") < LEAST_SEEN


# Contrast of at least 3 to 1 for what is drawn: WCAG 2.1, success criterion 1.4.11.
@pytest.mark.parametrize("role", ROLES)
def test_every_mark_stands_out_of_the_paper(role):
    luminance = float(EYES["grey print"][0] @ linear(ROLES[role]))
    assert 1.05 / (luminance + 0.05) >= 3.0


# --- the page ------------------------------------------------------------------------------------


def test_a_page_leaves_the_settings_of_the_library_as_they_were():
    with matplotlib.rc_context({"axes.grid": False, "font.size": 31.0}):
        before = {name: matplotlib.rcParams[name] for name in RC}
        with page(9, 3) as figure:
            assert matplotlib.rcParams["font.size"] == RC["font.size"]
            figure.subplots()
        assert {name: matplotlib.rcParams[name] for name in RC} == before


def test_the_settings_of_the_user_do_not_change_a_picture(tmp_path):
    def drawn(name):
        with page(9, 2) as figure:
            rows = panels(figure, [1.0])
            rows[0][0].plot([1, 2], [1, 2], label="a")
            settle(figure, rows, "a title")
            return save_picture(figure, tmp_path / name).read_bytes()

    plain = drawn("plain.png")
    with matplotlib.rc_context({"axes.facecolor": "black", "lines.linewidth": 9.0}):
        assert drawn("own.png") == plain


def test_settings_come_back_after_a_fault(tmp_path):
    before = matplotlib.rcParams["font.size"]
    with pytest.raises(InputError), page(9, 2) as figure:
        save_picture(figure, tmp_path / "nowhere" / "a.png")
    assert matplotlib.rcParams["font.size"] == before
