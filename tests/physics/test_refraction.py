import numpy as np
import pandas as pd
import pytest

from bubblerate.physics import abv_from_sg, sg_by_refractometer, sg_from_brix
from bubblerate.physics.refraction import FIRST, SECOND

from scenes import REFERENCE

POINT = 0.001
STARTS = (10.0, 12.0, 14.0, 16.0, 18.0, 20.0, 22.0, 24.0)
SHARES = (0.33, 0.4, 0.5, 0.6, 0.8)  # of the must's Brix, shown at the end


def bonham(start, brix):
    """L. K. Bonham, Zymurgy 24 (2001); from memory."""
    of_must = 1.001843 - 0.002318474 * start - 7.775e-6 * start**2 - 3.4e-8 * start**3
    return of_must + 0.00574 * brix + 3.344e-5 * brix**2 + 8.6e-8 * brix**3


def terrill(start, brix):
    """S. Terrill's cubic, 2011, fitted to beers; from memory."""
    of_must = 1.0 - 0.0044993 * start + 2.7581e-4 * start**2 - 7.28e-6 * start**3
    return of_must + 0.011774 * brix - 1.2717e-3 * brix**2 + 6.3293e-5 * brix**3


@pytest.mark.parametrize("start", STARTS)
@pytest.mark.parametrize("share", SHARES)
def test_two_readings_give_what_a_published_correction_gives(start, share):
    found = sg_by_refractometer(start, share * start)
    assert found.sg == pytest.approx(bonham(start, share * start), abs=2.5 * POINT)
    assert found.low < bonham(start, share * start) < found.high


# The range of beers: to 16 Brix, and an end that leaves a third or more of it.
@pytest.mark.parametrize("start", STARTS[:4])
@pytest.mark.parametrize("share", SHARES[1:-1])
def test_the_error_holds_a_correction_that_was_fitted_to_beers(start, share):
    found = sg_by_refractometer(start, share * start)
    assert found.low <= terrill(start, share * start) <= found.high


def test_ethanol_bends_light_as_the_handbook_prints():
    table = pd.read_csv(REFERENCE / "refraction.csv", comment="#")
    as_sugar = table.dropna()
    for row in table.itertuples():
        shown = np.interp(row.ethanol, as_sugar["sucrose"], as_sugar["g_per_100g"])
        mine = row.g_per_100g * (FIRST + row.g_per_100g * SECOND)
        assert mine == pytest.approx(shown, abs=0.1)  # the last digit of the book is 0.07


@pytest.mark.parametrize("start", STARTS)
def test_a_must_that_has_not_begun_reads_as_its_sugar(start):
    found = sg_by_refractometer(start, start)
    assert found.sg == pytest.approx(sg_from_brix(start), abs=0.1 * POINT)
    assert abv_from_sg(sg_from_brix(start), min(found.sg, sg_from_brix(start))) < 0.05


@pytest.mark.parametrize(
    ("start", "brix", "named"),
    [
        (0.5, 0.4, "Brix of the must 0.5 is outside"),
        (45.0, 9.0, "Brix of the must 45 is outside"),
        (20.0, 20.5, "Brix of the wine 20.5 is outside"),
        (20.0, 3.0, "Brix of the wine 3 is outside"),
        (20.0, float("nan"), "Brix of the wine nan is outside"),
    ],
)
def test_what_no_wine_shows_is_refused(start, brix, named):
    with pytest.raises(ValueError, match=named):
        sg_by_refractometer(start, brix)
