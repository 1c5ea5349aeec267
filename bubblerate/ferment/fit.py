"""Best fit and posterior draws of a ferment's tail, with an opinion of their own worth."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from .curve import Curve, as_curve, thermal_days
from .likelihood import column_names, log_density, tally_terms, to_theta
from .priors import choose_priors
from .sampling import ENOUGH, Draws, LogDensity, Mode, find_mode, importance_draws

if TYPE_CHECKING:
    from .evidence import Evidence
    from .tail import Tail

__all__ = ["FEWEST_COUNTS", "Fit", "FitError", "fit_curve", "outlier_chance"]

Floats = NDArray[np.float64]

FEWEST_COUNTS = 3  # below this a decline is a guess, and the priors alone would speak
_STARTS = 128  # draws of the priors among which the search for the modes begins
_FLAT = 0.5  # slope of a mode that only begins the sampling: nearer makes no better draws
_CURVED = 0.1  # share of the curvature at the mode that is believed away from it
_FEWEST_DRAWS = 20.0  # effective: two beyond each 80 % limit; with fewer there is no interval
_MOSTLY = 0.5  # of the counts, if outliers, leave a curve that is only a guess


class FitError(ArithmeticError):
    """The sums failed, so that nothing can be said of the curve."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Fit:
    """What counts, gravity and the priors say of a ferment's tail.

    Attributes
    ----------
    evidence : Evidence
        What went in.
    names : tuple of str
        Of the p parameters.
    draws : Draws
        Posterior draws, columns in the order of `names`.
    distrust : str
        Why the spread should not be believed; empty when it may be.
    """

    evidence: Evidence
    names: tuple[str, ...]
    draws: Draws
    distrust: str

    @property
    def tail(self) -> Tail:
        """The counts."""
        return self.evidence.tail

    @property
    def curve(self) -> Curve:
        """The draws in natural units."""
        return as_curve(self.draws.theta, self.names)


def fit_curve(evidence: Evidence, *, rng: np.random.Generator) -> Fit:
    """Posterior of the decay curve, given counts and gravity.

    Parameters
    ----------
    evidence : Evidence
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
        If no mode can be found, or nearly all draws are worth nothing.
    """
    counts = evidence.tail
    if counts.trusted < FEWEST_COUNTS:
        raise ValueError(f"a fit needs {FEWEST_COUNTS} counts or more, got {counts.trusted}")
    priors = choose_priors(evidence)

    def density(theta: Floats) -> Floats:
        values = log_density(theta, evidence, priors)
        return np.where(np.isnan(values), -np.inf, values)

    centre = np.array([p.centre if p.linear else np.log(p.centre) for p in priors])
    spread = np.array([p.spread for p in priors])
    values = centre + spread * rng.standard_normal((_STARTS, len(priors)))
    # what is seen may be sugar running out, yeast dying, or a second sugar: a mode for each
    column = [prior.name for prior in priors].index
    high = values > centre + spread
    dies, slow = high[:, column("inactivation_per_day")], high[:, column("second")]
    starts = to_theta(values, priors)
    first = (counts.bubbles[0] + 0.5) / counts.seconds[0] * 60.0
    starts[:, column("gas")] = np.log(first) + 0.3 * rng.standard_normal(_STARTS)
    order = np.argsort(density(starts))
    lots = [order[some[order]] for some in (~dies & ~slow, dies & ~slow, slow)]
    try:
        modes = [_widened_mode(density, starts[lot[-1]], spread) for lot in lots if len(lot)]
        draws = importance_draws(density, modes, rng=rng)
        if (
            draws.effective_sample_size < ENOUGH
        ):  # a few draws outweigh all: there is a mode that was missed
            best = draws.theta[np.argmax(draws.weights)]
            modes.append(_widened_mode(density, best, spread))
            draws = importance_draws(density, modes, rng=rng)
    except (ArithmeticError, np.linalg.LinAlgError) as err:
        raise FitError(str(err)) from err
    if not draws.effective_sample_size >= _FEWEST_DRAWS:  # written so that nan is refused too
        raise FitError(f"only {draws.effective_sample_size:.0f} effective draws")
    made = Fit(evidence=evidence, names=column_names(priors), draws=draws, distrust="")
    return replace(made, distrust=_distrust(made, modes))


def _distrust(fit: Fit, modes: list[Mode]) -> str:
    """Why the spread should not be believed; empty where it may be."""
    if fit.draws.effective_sample_size < ENOUGH:
        return f"only {fit.draws.effective_sample_size:.0f} effective draws"
    if not all(top.reached for top in modes):
        return "a search for the best curve stopped short"
    odd = outlier_chance(fit)[fit.tail.trust == 1.0]
    if np.mean(odd) > _MOSTLY:
        return "most of the counts fit no curve"
    return ""


def outlier_chance(fit: Fit) -> Floats:
    """Chance that each count of the tail is of another jar or a digit too many; shape (n,)."""
    tail, curve = fit.tail, fit.curve
    thermal = thermal_days(tail.days, tail.temp_offset_10c, curve.q10)
    sound, outlier = tally_terms(curve, thermal, fit.evidence)
    return np.asarray(fit.draws.weights @ (1.0 / (1.0 + np.exp(sound - outlier))), float)


def _widened_mode(density: LogDensity, start: Floats, spread: Floats) -> Mode:
    """A mode as wide as the density far from it: never much wider than the priors."""
    top = find_mode(density, start, scale=spread, flat=_FLAT)
    inverse = np.linalg.inv(top.covariance)
    wide = _CURVED * inverse + (1.0 - _CURVED) * np.diag(1.0 / spread**2)
    return replace(top, covariance=np.asarray(np.linalg.inv(wide), float))
