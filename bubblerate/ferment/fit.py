"""Best fit and posterior draws of a ferment's tail, with an opinion of their own worth."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from .curve import Curve, curve, thermal_days
from .likelihood import log_density, names, tally_terms, to_theta
from .priors import priors
from .sampling import ENOUGH, Draws, LogDensity, Peak, importance_draws, peak

if TYPE_CHECKING:
    from .evidence import Evidence
    from .tail import Tail

__all__ = ["FEWEST_COUNTS", "Fit", "FitError", "fit", "slip_chance"]

Floats = NDArray[np.float64]

FEWEST_COUNTS = 3  # below this a decline is a guess, and the priors alone would speak
_STARTS = 128  # draws of the priors among which the search for the peaks begins
_FLAT = 0.5  # slope of a peak that only begins the sampling: nearer makes no better draws
_CURVED = 0.1  # share of the curvature at the peak that is believed away from it
_FEWEST_DRAWS = 20.0  # effective: two beyond each 80 % limit; with fewer there is no interval
_MOSTLY = 0.5  # of the counts, if slips, leave a curve that is only a guess


class FitError(ArithmeticError):
    """The sums failed, so that nothing can be said of the curve."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Fit:
    """What counts, gravity and the priors say of a ferment's tail.

    Attributes
    ----------
    known : Evidence
        What went in.
    names : tuple of str
        Of the p parameters.
    draws : Draws
        Posterior draws, columns in the order of `names`.
    distrust : str
        Why the spread should not be believed; empty when it may be.
    """

    known: Evidence
    names: tuple[str, ...]
    draws: Draws
    distrust: str

    @property
    def tail(self) -> Tail:
        """The counts."""
        return self.known.tail

    @property
    def curve(self) -> Curve:
        """The draws in natural units."""
        return curve(self.draws.theta, self.names)


def fit(known: Evidence, *, rng: np.random.Generator) -> Fit:
    """Posterior of the decay curve, given counts and gravity.

    Parameters
    ----------
    known : Evidence
        With at least `FEWEST_COUNTS` counts that its tail trusts.
    rng : numpy.random.Generator
        Source of the draws; the same state gives the same answer.

    Returns
    -------
    Fit

    Raises
    ------
    ValueError
        If the tail holds fewer than `FEWEST_COUNTS` counts that it trusts.
    FitError
        If no peak can be found, or nearly all draws are worth nothing.
    """
    counts = known.tail
    if counts.trusted < FEWEST_COUNTS:
        raise ValueError(f"a fit needs {FEWEST_COUNTS} counts or more, got {counts.trusted}")
    table = priors(known)

    def density(theta: Floats) -> Floats:
        values = log_density(theta, known, table)
        return np.where(np.isnan(values), -np.inf, values)

    centre = np.array([p.centre if p.linear else np.log(p.centre) for p in table])
    spread = np.array([p.spread for p in table])
    values = centre + spread * rng.standard_normal((_STARTS, len(table)))
    # what is seen may be sugar running out, yeast dying, or a second sugar: a peak for each
    column = [prior.name for prior in table].index
    high = values > centre + spread
    dies, slow = high[:, column("dying")], high[:, column("second")]
    starts = to_theta(values, table)
    first = (counts.bubbles[0] + 0.5) / counts.seconds[0] * 60.0
    starts[:, column("gas")] = np.log(first) + 0.3 * rng.standard_normal(_STARTS)
    order = np.argsort(density(starts))
    lots = [order[some[order]] for some in (~dies & ~slow, dies & ~slow, slow)]
    try:
        peaks = [_widened_peak(density, starts[lot[-1]], spread) for lot in lots if len(lot)]
        draws = importance_draws(density, peaks, rng=rng)
        if draws.effective < ENOUGH:  # a few draws outweigh all: there is a peak that was missed
            best = draws.theta[np.argmax(draws.weights)]
            peaks.append(_widened_peak(density, best, spread))
            draws = importance_draws(density, peaks, rng=rng)
    except (ArithmeticError, np.linalg.LinAlgError) as err:
        raise FitError(str(err)) from err
    if not draws.effective >= _FEWEST_DRAWS:  # written so that nan is refused too
        raise FitError(f"only {draws.effective:.0f} effective draws")
    found = Fit(known=known, names=names(table), draws=draws, distrust="")
    return replace(found, distrust=_distrust(found, peaks))


def _distrust(found: Fit, peaks: list[Peak]) -> str:
    """Why the spread should not be believed; empty where it may be."""
    if found.draws.effective < ENOUGH:
        return f"only {found.draws.effective:.0f} effective draws"
    if not all(top.reached for top in peaks):
        return "a search for the best curve stopped short"
    odd = slip_chance(found)[found.tail.trust == 1.0]
    if np.mean(odd) > _MOSTLY:
        return "most of the counts fit no curve"
    return ""


def slip_chance(fit: Fit) -> Floats:
    """Chance that each count of the tail is of another jar or a digit too many; shape (n,)."""
    tail, c = fit.tail, fit.curve
    felt = thermal_days(tail.days, tail.warmth, c.q10)
    sound, slip = tally_terms(c, felt, fit.known)
    return np.asarray(fit.draws.weights @ (1.0 / (1.0 + np.exp(sound - slip))), float)


def _widened_peak(density: LogDensity, start: Floats, spread: Floats) -> Peak:
    """A peak as wide as the density far from it: never much wider than the priors."""
    top = peak(density, start, scale=spread, flat=_FLAT)
    inverse = np.linalg.inv(top.covariance)
    wide = _CURVED * inverse + (1.0 - _CURVED) * np.diag(1.0 / spread**2)
    return replace(top, covariance=np.asarray(np.linalg.inv(wide), float))
