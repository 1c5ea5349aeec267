"""The draws of a fit as a pandas table in natural units, weighted or resampled to equal weights."""

from __future__ import annotations

from dataclasses import fields
from typing import TYPE_CHECKING

import numpy as np

from ..physics.scales import sg_at

if TYPE_CHECKING:
    import pandas as pd
    from numpy.typing import NDArray

    from .curve import Curve
    from .sampling import Draws

__all__ = ["draws_frame", "equal_rows"]

# Columns named with their unit; all others keep the curve's name.
_NAMES = {
    "rate": "rate_per_min",
    "fall": "fall_points_per_day",
    "sugar": "sugar_points",
    "half_saturation": "half_saturation_points",
    "second": "second_points",
    "pace": "second_pace_per_day",
}


def draws_frame(curve: Curve, draws: Draws) -> pd.DataFrame:
    """Make a table of the draws of a curve.

    Parameters
    ----------
    curve : Curve
        Parameters of m draws.
    draws : Draws

    Returns
    -------
    DataFrame, m rows
        A column for each parameter, `finish_sg` for the gravity at the end, and `weight`, which
        sums to 1.
    """
    import pandas as pd  # pictures use draws without this table

    columns: dict[str, NDArray[np.float64]] = {}
    for field in fields(curve):
        values = getattr(curve, field.name)
        if field.name == "finish":
            columns["finish_sg"] = sg_at(values[:, 0])
        elif field.name == "log_bubbles":
            stretches = np.exp(values).T
            columns |= {f"bubbles_of_stretch_{i}": one for i, one in enumerate(stretches)}
        else:
            columns[_NAMES.get(field.name, field.name)] = values[:, 0]
    table = pd.DataFrame(columns | {"weight": draws.weights})
    table.index.name = "draw"
    return table


def equal_rows(weights: NDArray[np.float64], n: int, seed: int) -> NDArray[np.intp]:
    """Choose draws, each as often as its weight says, in any order.

    Parameters
    ----------
    weights : ndarray, shape (m,)
        They sum to 1.
    n : int
        How many to choose, at least 1.
    seed : int

    Returns
    -------
    ndarray, shape (n,)
        Indices.

    Raises
    ------
    ValueError
        If `n` is below 1.

    Notes
    -----
    Systematic resampling: one uniform number, and steps of 1/n from it (J. Carpenter, P. Clifford
    and P. Fearnhead, IEE Proc. Radar Sonar Navig. 146 (1999) 2; from memory).
    """
    if n < 1:
        raise ValueError(f"n is {n}; ask for one draw or more")
    rng = np.random.default_rng(seed)
    steps = (np.arange(n) + rng.uniform()) / n
    found = np.searchsorted(np.cumsum(weights), steps, side="right")
    return np.asarray(rng.permutation(np.minimum(found, len(weights) - 1)))
