"""Turns what the priors are stated for into `theta`, the parameters that the fit moves.

Columns that counts and readings tell, so that the density is as round as it can be. In logarithms:
the rate is the bubbles of a point plus the fall at the start, two sugars share that fall, and the
first would last so many days at its part of it. In points: the end is the finish plus what dying
yeast leaves. Each change of variable has Jacobian 1.
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from .curve import as_curve

if TYPE_CHECKING:
    from .priors import Prior

__all__ = ["centre_and_spread", "column_names", "to_theta"]

Floats = NDArray[np.float64]

# what a prior is stated for, and the column in its place
_COLUMNS = {"gas": "rate", "fall": "start", "sugar": "lasts", "second": "share", "finish": "end"}


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
    mixed = {
        "rate": value["gas"] + start,
        "start": start,
        "lasts": value["sugar"] - value["fall"],
        "share": second - value["fall"],
    }
    names = column_names(priors)
    columns = value | mixed | {"end": value.get("finish", 0.0)}
    theta = np.column_stack([columns[name] for name in names])
    if "end" in names:  # it was taken as the finish, and is that plus what dying yeast leaves
        theta[:, names.index("end")] += as_curve(theta, names).points_never[:, 0]
    return theta


@lru_cache(maxsize=32)
def centre_and_spread(priors: tuple[Prior, ...]) -> tuple[Floats, Floats]:
    """Centre and spread of each prior, shape (p,): natural logarithms, except for linear ones."""
    centre = np.array([p.centre if p.linear else np.log(p.centre) for p in priors])
    spread = np.array([p.spread for p in priors])
    for shared in (centre, spread):
        shared.flags.writeable = False
    return centre, spread
