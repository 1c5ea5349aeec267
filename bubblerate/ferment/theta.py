"""Turns what the priors are stated for into `theta`, the parameters that the fit moves.

Three columns differ, all in logarithms: the rate is the bubbles of a point plus the fall at the
start, and two sugars share that fall. Both changes of variable have Jacobian 1.
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from .priors import Prior

__all__ = ["centre_and_spread", "column_names", "to_theta"]

Floats = NDArray[np.float64]

_COLUMNS = {"gas": "rate", "fall": "start", "sugar": "lasts", "second": "share", "finish": "end"}  # in place of these


@lru_cache(maxsize=32)  # called at every step of a fit
def column_names(priors: tuple[Prior, ...]) -> tuple[str, ...]:
    """Names of the columns of `theta`, for the priors of a fit."""
    return tuple(_COLUMNS.get(prior.name, prior.name) for prior in priors)


def to_theta(values: Floats, priors: tuple[Prior, ...]) -> Floats:
    """Turn rows of what the priors are stated for into `theta`.

    Parameters
    ----------
    values : ndarray, shape (m, p)
        In the order of the table; natural logarithms, except for linear ones.
    priors : tuple of Prior

    Returns
    -------
    ndarray, shape (m, p)
        Columns named by `column_names`.
    """
    value = dict(zip((prior.name for prior in priors), values.T, strict=True))
    second = value["second"] + value["pace"]  # ln of the fall it causes at the start
    start = np.logaddexp(value["fall"], second)
    mixed = {"rate": value["gas"] + start, "start": start, "share": second - value["fall"]}
    mixed["lasts"] = value["sugar"] - value["fall"]
    columns = value | mixed
    if "finish" in value:
        from .decay import points_never
        b=np.exp(value["fall"])*(1+np.exp(value["half_saturation"]-value["sugar"]))
        columns["end"]=value["finish"]+points_never(max_uptake=b,sugar=np.exp(value["sugar"]),half_saturation=np.exp(value["half_saturation"]),inactivation_per_day=np.exp(value["inactivation_per_day"]))
    return np.column_stack([columns[name] for name in column_names(priors)])


@lru_cache(maxsize=32)
def centre_and_spread(priors: tuple[Prior, ...]) -> tuple[Floats, Floats]:
    """Centre and spread of each prior, shape (p,): natural logarithms, except for linear ones."""
    centre = np.array([p.centre if p.linear else np.log(p.centre) for p in priors])
    spread = np.array([p.spread for p in priors])
    for shared in (centre, spread):
        shared.flags.writeable = False
    return centre, spread
