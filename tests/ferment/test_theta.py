"""The columns that the fit moves, and what the priors are stated for."""

import numpy as np
import pytest

from bubblerate.ferment.curve import as_curve
from bubblerate.ferment.priors import choose_priors
from bubblerate.ferment.theta import column_names, to_theta

from scenes import known

ROWS = [{"day": float(day), "bubbles": 30 - 2 * day} for day in range(9)]


@pytest.mark.parametrize("reading", [(), ({"day": 9.0, "sg": 1.004},)])
def test_a_curve_made_from_the_columns_has_what_the_priors_are_stated_for(reading):
    table = choose_priors(known(*ROWS, *reading))
    centre = [p.centre if p.linear else np.log(p.centre) for p in table]
    values = np.array(centre) + np.random.default_rng(1).standard_normal((50, len(table)))
    curve = as_curve(to_theta(values, table), column_names(table))
    stated = {p.name: column for p, column in zip(table, values.T, strict=True)}
    np.testing.assert_allclose(curve.log_per_point[:, 0], stated["gas"])
    for name in ("fall", "sugar", "half_saturation", "second", "pace"):
        np.testing.assert_allclose(np.log(getattr(curve, name)[:, 0]), stated[name], atol=1e-12)
    np.testing.assert_allclose(curve.finish[:, 0], stated.get("finish", 0.0), atol=1e-9)
