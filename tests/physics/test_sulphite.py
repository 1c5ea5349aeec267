import math
import re

import pytest

from bubblerate.physics.constants import SO2_SHARE_OF_POWDER
from bubblerate.physics.sulphite import (
    SO2_MOST_MG_PER_LITRE,
    free_so2_mg_per_litre,
    sulphite_dose,
)


# Univ. of California Cooperative Extension, Enology Briefs I(1), 1982, as adapted in a makers'
# handout: free SO2 [mg/L] of which 0.8 is molecular, printed to 1 mg/L.
@pytest.mark.parametrize(("ph", "free"), [(3.0, 13), (3.2, 21), (3.4, 32), (3.6, 50), (3.8, 79)])
def test_free_sulphite_is_that_of_the_published_table(ph, free):
    assert free_so2_mg_per_litre(ph) == pytest.approx(free, abs=1.0)


# By hand, with a pKa of 1.81: at pH 3.0 there are 15.49 parts bound to water for each molecular
# one, so 0.8 (1 + 15.49).
def test_what_is_molecular_counts_as_free():
    assert free_so2_mg_per_litre(3.0) == pytest.approx(13.19, abs=0.02)


@pytest.mark.parametrize("ph", [2.99, 3.81, math.nan])
def test_beyond_the_table_no_figure_is_given(ph):
    assert sulphite_dose(ph=ph, litres=4.5) is None
    with pytest.raises(ValueError, match=re.escape(f"pH is {ph}; the published table")):
        free_so2_mg_per_litre(ph)


def test_without_a_ph_no_figure_is_given():
    assert sulphite_dose(ph=None, litres=4.5) is None


@pytest.mark.parametrize("ph", [3.0, 3.1, 3.4, 3.75, 3.8])
def test_the_range_is_that_of_a_ph_good_to_a_tenth_and_never_leaves_the_table(ph):
    low, high = sulphite_dose(ph=ph, litres=None).mg_per_litre
    assert low <= free_so2_mg_per_litre(ph) <= high
    assert free_so2_mg_per_litre(3.0) <= low < high <= free_so2_mg_per_litre(3.8)


# Atomic weights of IUPAC 2021, abridged: K 39.098, S 32.06, O 15.999.
def test_the_powder_holds_the_share_of_its_formula():
    so2 = 32.06 + 2 * 15.999
    assert pytest.approx(2 * so2 / (2 * 39.098 + 2 * 32.06 + 5 * 15.999), rel=1e-3) == (
        SO2_SHARE_OF_POWDER
    )


# Common practice, no source: a tablet of about 0.44 g in a UK gallon gives 50 to 75 mg/L.
def test_a_tablet_in_a_gallon_gives_what_makers_reckon():
    assert 50.0 <= 1000.0 * 0.44 * SO2_SHARE_OF_POWDER / 4.546 <= 75.0


def test_powder_grows_with_the_litres():
    one, two = (sulphite_dose(ph=3.4, litres=litres).powder_g for litres in (4.5, 9.0))
    assert two == pytest.approx([2 * g for g in one])
    assert 0.15 < one[0] < one[1] < 0.35


# By hand: the published table runs as a power of ten, so it has 26 mg/L at pH 3.3 and 40 at 3.5,
# the mean exponents of 21, 32 and 50. In 4.5 L, at 0.576 of SO2 in the powder: 0.20 and 0.31 g.
def test_the_powder_is_that_of_a_ph_a_tenth_lower_and_a_tenth_higher():
    found = sulphite_dose(ph=3.4, litres=4.5)
    assert found.mg_per_litre == pytest.approx((26.0, 40.0), abs=0.5)
    assert found.powder_g == pytest.approx((0.203, 0.313), abs=0.004)


# By hand: 30 mg/L measured are more than 26, and 10 short of 40: 45 mg of SO2, 0.078 g of powder.
@pytest.mark.parametrize(
    ("free", "grams"),
    [(0.0, (0.203, 0.313)), (20.0, (0.047, 0.156)), (30.0, (0.0, 0.078)), (60.0, (0.0, 0.0))],
)
def test_what_is_free_in_it_already_is_taken_off(free, grams):
    found = sulphite_dose(ph=3.4, litres=4.5, free_mg_per_litre=free)
    assert found.powder_g == pytest.approx(grams, abs=0.004)
    assert min(found.powder_g) >= 0.0


# EU Regulation 1333/2008, annex II, fruit wine, cider, perry and mead (from memory).
def test_the_most_there_may_be_is_that_of_the_regulation():
    assert SO2_MOST_MG_PER_LITRE == 200.0
