"""Fits the decay curve to one jar: weighted draws that also say whether to trust them."""

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

FEWEST_COUNTS = 3  # with fewer the answer would come from the priors alone
_ATTEMPTS = 3  # attempts, each starting from what the one before has found
_AT_ONCE = 16_000  # draws times counts in one sum, so that arrays fit in the cache
_KEPT = 1000  # draws kept: most of those made weigh next to nothing
_MANY = 100  # counts; with more, lots of them propose the draws
_WEIGHED_AGAIN = 450  # draws weighed again by all the counts
_ASTRAY = 4.0  # ln by which lots may overrate their own draws
_MANY_OUTLIERS = 0.1  # share of the counts: another curve may leave fewer of them
_HARDLY = 1e-9  # share of the largest weight: a lighter draw changes nothing
_FEWEST_DRAWS = 20.0  # effective draws, two beyond each 80 % limit; fewer make no interval
_MOSTLY = 0.5  # if this share of the counts are outliers, the curve is only a guess


class FitError(ArithmeticError):
    """The sums failed, so nothing is known of the curve."""


@dataclass(
    frozen=True, kw_only=True, eq=False, repr=False
)  # no slots: cached properties need a dict
class Fit:
    """What counts, gravity and priors together say about a ferment's tail.

    Attributes
    ----------
    evidence : Evidence
        What was fitted.
    names : tuple of str
        Names of the p parameters.
    draws : Draws
        Posterior draws, columns in the order of `names`.
    outlier_chance : ndarray, shape (n,)
        Chance that each of the n counts is an outlier: another jar's, or a typing mistake.

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
        """Thermal days until each draw falls to a rate [bubbles/min] above 0; shape (m,)."""
        if threshold_per_min not in self._crossings:
            per_point = np.exp(self.curve.log_per_point)
            days = crossing_days(threshold_per_min / per_point, **self.curve.gas)
            self._crossings[threshold_per_min] = days[:, 0]
        return self._crossings[threshold_per_min]

    @cached_property
    def distrust(self) -> str:
        """Why the spread should not be trusted; empty if it can be."""
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
            How many rows; a draw may appear more than once.
        seed : int
            The same seed gives the same rows.

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
    """Find the posterior of the decay curve, given counts and gravity: the one slow step.

    Parameters
    ----------
    evidence : Evidence
        With at least `FEWEST_COUNTS` trusted counts in its tail.
    rng : numpy.random.Generator
        The same state gives the same answer.

    Returns
    -------
    Fit

    Raises
    ------
    ValueError
        If the tail has fewer than `FEWEST_COUNTS` trusted counts.
    FitError
        If no mode is found, nearly all draws are worth nothing, or a sum overflows or has no
        answer.

    Notes
    -----
    First the modes of the posterior are found, one for each way a ferment may slow. Adaptive
    importance sampling starts from them. See `bubblerate.ferment.modes` and
    `bubblerate.ferment.sampling` for methods and sources.

    Jars are fitted one by one. Many in one array would save a tenth of a judgement with 12 counts
    and nothing from 30 on: the draws of one jar fill the processor's cache.
    """
    if evidence.tail.trusted < FEWEST_COUNTS:
        raise ValueError(f"a fit needs {FEWEST_COUNTS} counts or more, got {evidence.tail.trusted}")
    density = _Density(evidence, choose_priors(evidence))
    try:
        # numpy would only warn, but the answer of such a sum is no good
        with np.errstate(divide="raise", over="raise", invalid="raise"):
            draws, possible = _drawn(density, rng)
    except (ArithmeticError, np.linalg.LinAlgError) as err:
        raise FitError(str(err)) from err
    if not draws.effective_sample_size >= _FEWEST_DRAWS:  # written this way to refuse nan too
        raise FitError(f"only {draws.effective_sample_size:.0f} effective draws")
    return Fit(
        evidence=evidence,
        names=column_names(density.priors),
        draws=draws,
        outlier_chance=density.outlier_chance(draws, possible),
    )


def _drawn(density: _Density, rng: np.random.Generator) -> tuple[Draws, NDArray[np.intp]]:
    """Draws, and their indices among the points evaluated."""
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
    """Draw, starting from these places; while a few draws outweigh all, start from more places."""
    for _ in range(_ATTEMPTS):
        density.forget()
        draws, possible = importance_draws(density, modes, rng=rng)
        if draws.enough:
            break
        modes = more_modes(modes, draws, density.evidence, density.priors)
    return draws, possible


def _by_lots(density: _Density, rng: np.random.Generator) -> tuple[Draws, NDArray[np.intp]] | None:
    """Draw by the density of lots, then weigh a few hundred draws again by all the counts.

    None if the lots do not agree with their counts.
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
    """The log density of a jar; it remembers the odds of each count as an outlier."""

    def __init__(self, evidence: Evidence, priors: tuple[Prior, ...]) -> None:
        self.evidence, self.priors = evidence, priors
        self._log_odds: list[Floats] = []
        self._rows = max(16, _AT_ONCE // len(evidence.tail))

    def __call__(self, theta: Floats) -> Floats:
        """Log density at the draws, shape (m,); the odds of the counts are remembered."""
        values = []
        for first in range(0, len(theta), self._rows):
            found = terms(theta[first : first + self._rows], self.evidence, self.priors)
            values.append(found.log_density)
            self._log_odds.append(found.log_odds)
        return np.concatenate(values)

    def expected(self, theta: Floats) -> Expected:
        """What one curve, (1, p), expects of the counts."""
        found = terms(theta, self.evidence, self.priors)
        with np.errstate(over="ignore"):
            sound = 1.0 / (1.0 + np.exp(-found.log_odds[0]))
        return Expected(
            bubbles=np.exp(found.log_mean[0]),
            sound=sound,
            overdispersion=float(found.curve.overdispersion[0, 0]),
        )

    def forget(self) -> None:
        """Forget the draws so far."""
        self._log_odds = []

    def outlier_chance(self, draws: Draws, possible: NDArray[np.intp]) -> Floats:
        """Chance that each count is an outlier, over draws that were all evaluated here."""
        matter = draws.weights > _HARDLY * draws.weights.max()
        log_odds = np.concatenate(self._log_odds)[possible[matter]]
        with np.errstate(over="ignore"):  # overflow gives a chance of 0, which is right
            return np.asarray(draws.weights[matter] @ (1.0 / (1.0 + np.exp(log_odds))), float)
