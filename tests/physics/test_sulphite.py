import math
import re

import pytest

from bubblerate.physics.constants import SO2_SHARE_OF_POWDER
from bubblerate.physics.sulphite import free_so2_mg_per_litre, sulphite_dose


# Univ. of California Cooperative Extension, Enology Briefs I(1), 1982, as adapted in a makers'
# handout: free SO2 [mg/L] of which 0.8 is molecular, printed to 1 mg/L.
@pytest.mark.parametrize(("ph", "free"), [(3.0, 13), (3.2, 21), (3.4, 32), (3.6, 50), (3.8, 79)])
def test_free_sulphite_is_that_of_the_published_table(ph, free):
    assert free_so2_mg_per_litre(ph) == pytest.approx(free, abs=1.0)


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
