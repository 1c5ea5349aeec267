import pytest
from scipy.stats import chi2

from bubblerate.ferment.poisson import at_least_per_min, at_most_per_min


# Garwood (1936), as the manual of pois.exact of the R package epitools gives it (from memory):
# the upper 95 % limit (two-sided) for a count of 0 is 3.689.
def test_the_upper_limit_of_nothing_is_the_published_one():
    assert at_most_per_min(0, 1.0, sure=0.975) == pytest.approx(3.689, abs=5e-4)


@pytest.mark.parametrize("bubbles", [1, 2, 7, 40, 900])
@pytest.mark.parametrize("sure", [0.8, 0.9, 0.975])
def test_both_limits_are_quantiles_of_chi_square(bubbles, sure):
    low, high = chi2.ppf(1 - sure, 2 * bubbles) / 2, chi2.ppf(sure, 2 * bubbles + 2) / 2
    assert at_least_per_min(bubbles, 3.0, sure=sure) == pytest.approx(low / 3.0)
    assert at_most_per_min(bubbles, 3.0, sure=sure) == pytest.approx(high / 3.0)


def test_one_timed_bubble_says_that_it_bubbles():
    assert at_least_per_min(1, 5 / 60) > 1.0
    assert at_least_per_min(0, 5.0) == 0.0


@pytest.mark.parametrize(("bubbles", "minutes", "sure"), [(1, 0, 0.9), (-1, 1, 0.9), (1, 1, 1.0)])
def test_what_is_no_count_is_refused(bubbles, minutes, sure):
    with pytest.raises(ValueError, match=r"no such count|strictly between"):
        at_least_per_min(bubbles, minutes, sure=sure)
