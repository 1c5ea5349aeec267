"""Best fit and posterior draws of a ferment's tail, with an opinion of their own worth."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from .crossing import crossing_days
from .curve import Curve, as_curve, thermal_days
from .likelihood import terms
from .lots import Expected, in_lots, smoothed
from .priors import Prior, choose_priors
from .sampling import ENOUGH, Draws, importance_draws
from .starts import climb_on, first_modes, more_modes
from .theta import column_names

if TYPE_CHECKING:
    import pandas as pd

    from .evidence import Evidence
    from .modes import Modes
    from .tail import Tail

__all__ = ["FEWEST_COUNTS", "Fit", "FitError", "fit_curve"]

Floats = NDArray[np.float64]

FEWEST_COUNTS = 3  # below this a decline is a guess, and the priors alone would speak
_ATTEMPTS = 3  # to draw, each from the places that the one before has shown
_AT_ONCE = 16_000  # counts of draws in one sum: arrays that stay near the processor
_KEPT = 1000  # draws: of all that were made, most weigh next to nothing
_MANY = 100  # counts, beyond which lots of them propose the draws
_WEIGHED_AGAIN = 450  # draws, by all the counts
_ASTRAY = 4.0  # natural logarithms by which lots may flatter where they lead
_MANY_OUTLIERS = 0.1  # of the counts: another curve may make fewer
_HARDLY = 1e-9  # of the largest weight: a draw that moves nothing
_FEWEST_DRAWS = 20.0  # effective: two beyond each 80 % limit; with fewer there is no interval
_MOSTLY = 0.5  # of the counts, if outliers, leave a curve that is only a guess


class FitError(ArithmeticError):
    """The sums failed, so that nothing can be said of the curve."""


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)  # no slots: what it works out is kept
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
    outlier_chance : ndarray, shape (n,)
        Chance that each of the n counts is of another jar or a digit too many.

    Examples
    --------
    >>> import bubblerate
    >>> fit = bubblerate.judge(bubblerate.read("examples/quince.csv")).fit
    >>> bool(fit.draws.effective_sample_size > 200.0), fit.distrust
    (True, '')
    """

    evidence: Evidence
    names: tuple[str, ...]
    draws: Draws
    outlier_chance: Floats
    _crossings: dict[float, Floats] = field(default_factory=dict, init=False, repr=False)

    @property
    def tail(self) -> Tail:
        """The counts."""
        return self.evidence.tail

    @cached_property
    def curve(self) -> Curve:
        """The m draws in natural units."""
        return as_curve(self.draws.theta, self.names)

    @cached_property
    def thermal(self) -> Floats:
        """Thermal days of the n counts under each draw, shape (m, n)."""
        days = thermal_days(self.tail.days, self.tail.temp_offset_10c, self.curve.q10)
        return np.broadcast_to(days, (len(self.draws.weights), len(self.tail)))

    def crossing_days(self, threshold_per_min: float) -> Floats:
        """Thermal days at which each draw falls to a rate [bubbles/min], above 0; shape (m,)."""
        if threshold_per_min not in self._crossings:
            per_point = np.exp(self.curve.log_per_point)
            days = crossing_days(threshold_per_min / per_point, **self.curve.gas)
            self._crossings[threshold_per_min] = days[:, 0]
        return self._crossings[threshold_per_min]

    @cached_property
    def distrust(self) -> str:
        """Why the spread should not be believed; empty when it may be."""
        if self.draws.effective_sample_size < ENOUGH:
            return f"only {self.draws.effective_sample_size:.0f} effective draws"
        if not self.draws.enough:
            return "a few draws weigh too much"
        mostly = np.mean(self.outlier_chance[self.tail.trust == 1.0]) > _MOSTLY
        return "most of the counts fit no curve" if mostly else ""

    def __repr__(self) -> str:
        worth = round(self.draws.effective_sample_size)
        trouble = f"; {self.distrust}" if self.distrust else ""
        return f"<Fit of {len(self.tail)} counts: {worth} effective draws{trouble}>"

    def to_frame(self) -> pd.DataFrame:
        """Table of the m draws in natural units, with the `weight` of each; they sum to 1.

        Examples
        --------
        >>> import bubblerate
        >>> fit = bubblerate.judge(bubblerate.read("examples/quince.csv")).fit
        >>> draws = fit.to_frame()
        >>> mean = (draws["rate_per_min"] * draws["weight"]).sum()  # at the start of the tail
        >>> bool(1.0 < mean < 100.0)
        True
        """
        from .draws_table import draws_frame

        return draws_frame(self.curve, self.draws)

    def resample(self, n: int = 1000, *, seed: int = 1) -> pd.DataFrame:
        """Draws of equal weight, so that a plain mean or histogram of them is right.

        Parameters
        ----------
        n : int
            How many rows; a draw may stand there more than once.
        seed : int
            The same one gives the same rows.

        Returns
        -------
        DataFrame, n rows
            As `to_frame`, without `weight`.

        Raises
        ------
        ValueError
            If `n` is below 1.
        """
        from .draws_table import equal_rows

        rows = equal_rows(self.draws.weights, n, seed)
        return self.to_frame().drop(columns="weight").iloc[rows]


def fit_curve(evidence: Evidence, *, rng: np.random.Generator) -> Fit:
    """Posterior of the decay curve, given counts and gravity: the one dear step of a judgement.

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
        If no mode can be found, nearly all draws are worth nothing, or a sum on the way to them
        overflows or has no answer.

    Notes
    -----
    Modes of the posterior, one for each way a ferment may slow, then draws by adaptive importance
    sampling that begin there: see `bubblerate.ferment.sampling` for both and their sources.
    """
    if evidence.tail.trusted < FEWEST_COUNTS:
        raise ValueError(f"a fit needs {FEWEST_COUNTS} counts or more, got {evidence.tail.trusted}")
    density = _Density(evidence, choose_priors(evidence))
    try:
        # what the library would only warn of: no answer comes out of such a sum
        with np.errstate(divide="raise", over="raise", invalid="raise"):
            draws, possible = _drawn(density, rng)
    except (ArithmeticError, np.linalg.LinAlgError) as err:
        raise FitError(str(err)) from err
    if not draws.effective_sample_size >= _FEWEST_DRAWS:  # written so that nan is refused too
        raise FitError(f"only {draws.effective_sample_size:.0f} effective draws")
    return Fit(
        evidence=evidence,
        names=column_names(density.priors),
        draws=draws,
        outlier_chance=density.outlier_chance(draws, possible),
    )


def _drawn(density: _Density, rng: np.random.Generator) -> tuple[Draws, NDArray[np.intp]]:
    """Draws, and which points asked for they are."""
    if len(density.evidence.tail) > _MANY:
        found = _by_lots(density, rng)
        if found is not None:
            return found
    draws, possible = _sought(density, first_modes(density.evidence, density.priors, rng=rng), rng)
    kept, which = draws.thinned(_KEPT)
    return kept, possible[which]


def _sought(
    density: _Density, modes: Modes, rng: np.random.Generator
) -> tuple[Draws, NDArray[np.intp]]:
    """Draws from these places on; from more of them while a few draws outweigh all."""
    for _ in range(_ATTEMPTS):
        density.forget()
        draws, possible = importance_draws(density, modes, rng=rng)
        if draws.enough:
            break
        modes = more_modes(modes, draws, density.evidence, density.priors)
    return draws, possible


def _by_lots(density: _Density, rng: np.random.Generator) -> tuple[Draws, NDArray[np.intp]] | None:
    """Draws by the density of lots, a few hundred of them weighed again by all the counts.

    None where lots say something else than their counts.
    """
    evidence, priors = density.evidence, density.priors
    roughly = in_lots(evidence, smoothed(evidence))
    modes = first_modes(roughly, priors, rng=rng)
    lots = _Density(in_lots(evidence, density.expected(modes.at[:1])), priors)
    proposed, _ = _sought(lots, climb_on(modes, lots.evidence, priors), rng)
    if not proposed.enough:
        return None
    few, _ = proposed.thinned(_WEIGHED_AGAIN)
    at_mode = density(modes.at[:1]) - lots(modes.at[:1])
    density.forget()
    log_off = density(few.theta) - lots(few.theta)
    draws, every = few.reweighted(log_off), np.arange(len(few.weights))
    astray = draws.weights @ log_off < at_mode[0] - _ASTRAY
    astray = astray or np.mean(density.outlier_chance(draws, every)) > _MANY_OUTLIERS
    return None if astray or not draws.enough else (draws, every)


class _Density:
    """The log density of a jar, and what it found of each count on the way."""

    def __init__(self, evidence: Evidence, priors: tuple[Prior, ...]) -> None:
        self.evidence, self.priors = evidence, priors
        self._log_odds: list[Floats] = []
        self._rows = max(16, _AT_ONCE // len(evidence.tail))

    def __call__(self, theta: Floats) -> Floats:
        """Log density at the draws, shape (m,); the odds of their counts are kept."""
        values = []
        for first in range(0, len(theta), self._rows):
            found = terms(theta[first : first + self._rows], self.evidence, self.priors)
            values.append(found.log_density)
            self._log_odds.append(found.log_odds)
        return np.concatenate(values)

    def expected(self, theta: Floats) -> Expected:
        """What one curve, (1, p), makes of the counts."""
        found = terms(theta, self.evidence, self.priors)
        with np.errstate(over="ignore"):
            sound = 1.0 / (1.0 + np.exp(-found.log_odds[0]))
        return Expected(
            bubbles=np.exp(found.log_mean[0]),
            sound=sound,
            overdispersion=float(found.curve.overdispersion[0, 0]),
        )

    def forget(self) -> None:
        """Keep nothing of the draws so far."""
        self._log_odds = []

    def outlier_chance(self, draws: Draws, possible: NDArray[np.intp]) -> Floats:
        """Chance that each count is an outlier, over draws of which all were asked for here."""
        matter = draws.weights > _HARDLY * draws.weights.max()
        log_odds = np.concatenate(self._log_odds)[possible[matter]]
        with np.errstate(over="ignore"):  # beyond all numbers the chance is 0, as it should be
            return np.asarray(draws.weights[matter] @ (1.0 / (1.0 + np.exp(log_odds))), float)
