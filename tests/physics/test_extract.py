"""The extract of a wine and the must behind it, by published tables and by hand."""

import pytest

from bubblerate.physics.alcohol import abv_from_sg, driest_sg
from bubblerate.physics.extract import extract_g_per_litre, must_sg
from bubblerate.physics.scales import g_per_litre_from_sg


@pytest.mark.parametrize(("og", "sg"), [(1.050, 1.000), (1.085, 0.993), (1.120, 1.020)])
def test_the_must_of_a_wine_is_found_again(og, sg):
    assert must_sg(abv_from_sg(og, sg), sg) == pytest.approx(og)
    assert driest_sg(og) < sg


# By hand: must that has not fermented holds what the sucrose tables say, 222 g/L at 1.085.
def test_extract_of_must_is_its_sugar():
    assert extract_g_per_litre(0.0, 1.085) == pytest.approx(g_per_litre_from_sg(1.085))
    assert g_per_litre_from_sg(1.085) == pytest.approx(221.5, abs=1.0)


# Dry table wine holds 17 to 30 g/L of extract (common practice, no source).
@pytest.mark.parametrize(("abv", "sg"), [(11.0, 0.992), (12.0, 0.992), (12.5, 0.993)])
def test_dry_wine_holds_the_extract_of_dry_wine(abv, sg):
    assert 15.0 < extract_g_per_litre(abv, sg) < 30.0


# Where the sugar tables end, 40 Brix are 1.179 and 471 g/L (CRC Handbook, sucrose).
def test_sugar_beyond_the_tables_counts_as_their_end():
    assert must_sg(18.0, 1.080) == pytest.approx(1.179, abs=0.001)
    assert extract_g_per_litre(0.0, 1.250) == pytest.approx(471.0, abs=4.0)
    assert must_sg(15.0, 1.000) < 1.179
