import math

import numpy as np
import pytest

from bubblerate.diary.styles import kind_of
from bubblerate.ferment.finish import FinishDistribution, likely_finish

DRY = likely_finish(1.085, "dry wine")


@pytest.mark.parametrize(
    ("og", "style", "low", "high"),
    [
        # ranges of handbooks and makers, from which the shares in physics.alcohol are worked back
        (1.085, "dry wine", 0.990, 0.998),
        (1.050, "cider", 0.998, 1.005),
        (1.055, "perry", 1.000, 1.015),
        (1.100, "mead", 0.996, 1.010),
        # and where the start was never read
        (None, "cider", 0.998, 1.005),
        (None, "perry", 1.000, 1.015),
        (None, "mead", 0.996, 1.010),
        (None, "dry wine", 0.990, 1.000),
    ],
)
def test_the_range_is_the_usual_one_of_its_style(og, style, low, high):
    finish = likely_finish(og, style)
    assert finish.low_sg == pytest.approx(low, abs=0.0011)
    assert finish.high_sg == pytest.approx(high, abs=0.0011)


def test_the_density_is_one_and_its_range_holds_four_in_five():
    x = np.arange(-60.0, 60.0, 0.001)
    for finish in (DRY, likely_finish(1.13, "mead")):
        p = np.exp(finish.log_density(x))
        inside = (x >= 1000 * (finish.low_sg - 1)) & (x <= 1000 * (finish.high_sg - 1))
        assert p.sum() * 0.001 == pytest.approx(1.0, abs=1e-4)
        assert p[inside].sum() * 0.001 == pytest.approx(0.8, abs=1e-3)


def test_the_density_is_log_concave_and_the_stem_widens_it():
    x = np.arange(-40.0, 40.0, 0.25)
    assert (np.diff(DRY.log_density(x), 2) <= 1e-9).all()
    assert DRY.log_density(8.0, stem_points=1.0) > DRY.log_density(8.0)


@pytest.mark.parametrize(
    ("words", "style", "malolactic"),
    [
        ("Farm cider", "cider", True),
        ("perry", "perry", True),
        ("PERRY of two sorts", "perry", True),
        ("strong mead", "mead", False),
        ("melomel", "mead", False),
        ("grape wine", "dry wine", True),
        ("red wine", "dry wine", True),
        ("dry wine", "dry wine", False),
        ("plum wine", None, False),
        ("currant", None, False),
        ("decided later", None, False),  # "cide" is no cider
        ("", None, False),
        (None, None, False),
    ],
)
def test_free_words_mean_a_kind(words, style, malolactic):
    assert (kind_of(words).style, kind_of(words).malolactic) == (style, malolactic)


def test_an_unknown_fruit_may_keep_more_back():
    plum = likely_finish(1.085, "plum wine")
    assert plum.centre_sg > DRY.centre_sg
    assert plum.high_sg > DRY.high_sg
    assert plum.below_points == DRY.below_points


def test_the_limit_of_the_yeast_ends_a_strong_must_sweet_and_unsure():
    strong, weak = likely_finish(1.13, "dry wine"), likely_finish(1.09, "dry wine")
    assert strong.centre_sg > 1.005 > weak.centre_sg
    assert strong.above_points > 2 * weak.above_points


@pytest.mark.parametrize("said", [0.990, 0.992, 0.994, 0.996, 0.998])
def test_the_makers_word_narrows_and_never_leaves_the_range(said):
    narrowed = DRY.narrowed(said)
    assert DRY.low_sg - 1e-9 <= narrowed.low_sg <= narrowed.high_sg <= DRY.high_sg + 1e-9
    assert narrowed.high_sg - narrowed.low_sg < DRY.high_sg - DRY.low_sg
    assert abs(narrowed.centre_sg - said) < abs(DRY.centre_sg - said) + 1e-9


@pytest.mark.parametrize("said", [0.985, 1.000, 1.012, 1.040])
def test_a_word_outside_the_range_counts_only_with_a_test_bottle(said):
    assert DRY.narrowed(said) == DRY
    moved = DRY.narrowed(said, tested=True).centre_sg - DRY.centre_sg
    assert 0.0 < math.copysign(1.0, said - DRY.centre_sg) * moved * 1000 < 3.0


def test_sugar_fed_ferments_out_and_leaves_a_lighter_wine():
    # 20 g/L lift 7.75 points; alcohol made of them lowers the end by 0.22 of that
    fed = likely_finish(1.07, "dry wine", fed_g_per_litre=20.0)
    assert 1000 * (likely_finish(1.07, "dry wine").centre_sg - fed.centre_sg) == pytest.approx(
        0.22 * 20 / 2.58, abs=1e-6
    )
    assert likely_finish(1.10, "dry wine", fed_g_per_litre=150.0).centre_sg > 1.005  # the limit


def test_sugar_that_was_not_weighed_lowers_the_end_and_widens_it():
    fed = DRY.fed(None)
    assert fed.centre_sg < DRY.centre_sg
    assert fed.below_points > DRY.below_points
    assert fed.above_points == DRY.above_points


def test_watering_goes_by_volume():
    perry = likely_finish(1.058, "perry")
    watered = perry.diluted(0.1)
    assert watered.centre_sg - 1.0 == pytest.approx(0.9 * (perry.centre_sg - 1.0))
    assert perry.diluted(0.0) == perry


def test_nonsense_is_refused():
    with pytest.raises(ValueError, match="no such finish"):
        FinishDistribution(centre_sg=0.994, below_points=0.0, above_points=1.0)
    with pytest.raises(ValueError, match="no such finish"):
        FinishDistribution(centre_sg=math.nan, below_points=1.0, above_points=1.0)
    with pytest.raises(ValueError, match="sugar fed"):
        likely_finish(1.085, fed_g_per_litre=-1.0)
    with pytest.raises(ValueError, match="OG"):
        likely_finish(1.3)
