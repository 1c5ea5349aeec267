"""Best fit and posterior draws of a ferment's tail, with an opinion of their own worth."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from .curve import Curve, as_curve, thermal_days
from .likelihood import centre_and_spread, column_names, log_density, tally_terms, to_theta
from .priors import Prior, choose_priors
from .sampling import ENOUGH, Draws, LogDensity, Mode, find_mode, importance_draws

if TYPE_CHECKING:
    import pandas as pd

    from .evidence import Evidence
    from .tail import Tail

__all__ = ["FEWEST_COUNTS", "Fit", "FitError", "fit_curve"]

Floats = NDArray[np.float64]

FEWEST_COUNTS = 3  # below this a decline is a guess, and the priors alone would speak
_STARTS = 128  # draws of the priors among which the search for the modes begins
_FLAT = 0.5  # slope of a mode that only begins the sampling: nearer makes no better draws
_CURVED = 0.1  # share of the curvature at the mode that is believed away from it
_FEWEST_DRAWS = 20.0  # effective: two beyond each 80 % limit; with fewer there is no interval
_MOSTLY = 0.5  # of the counts, if outliers, leave a curve that is only a guess


class FitError(ArithmeticError):
    """The sums failed, so that nothing can be said of the curve."""


@dataclass(
    frozen=True, kw_only=True, eq=False, repr=False
)  # no slots: what is worked out once is kept
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
    search_trouble : str
        What went wrong on the way to them; empty where nothing did.

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
    search_trouble: str = ""

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
        return thermal_days(self.tail.days, self.tail.temp_offset_10c, self.curve.q10)

    @cached_property
    def outlier_chance(self) -> Floats:
        """Chance that each count is of another jar or a digit too many; shape (n,)."""
        sound, outlier = tally_terms(self.curve, self.thermal, self.evidence)
        with np.errstate(over="ignore"):  # beyond all numbers the chance is 0, as it should be
            chance = 1.0 / (1.0 + np.exp(sound - outlier))
        return np.asarray(self.draws.weights @ chance, float)

    @property
    def distrust(self) -> str:
        """Why the spread should not be believed; empty when it may be."""
        if self.search_trouble:
            return self.search_trouble
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
    priors = choose_priors(evidence)

    def density(theta: Floats) -> Floats:
        values = log_density(theta, evidence, priors)
        return np.where(np.isnan(values), -np.inf, values)

    try:
        # what the library would only warn of: no answer comes out of such a sum
        with np.errstate(divide="raise", over="raise", invalid="raise"):
            starts = _starts(density, evidence, priors, rng)
            draws, modes = _search(density, starts, priors, rng)
    except (ArithmeticError, np.linalg.LinAlgError) as err:
        raise FitError(str(err)) from err
    return Fit(
        evidence=evidence,
        names=column_names(priors),
        draws=draws,
        search_trouble=_search_trouble(draws, modes),
    )


def _starts(
    density: LogDensity, evidence: Evidence, priors: tuple[Prior, ...], rng: np.random.Generator
) -> list[Floats]:
    """Where to look for modes: the best of the prior's draws for each way a ferment may slow.

    What is seen may be sugar running out, yeast dying, or a second sugar. All draws begin near the
    rate of the first count.
    """
    centre, spread = centre_and_spread(priors)
    values = centre + spread * rng.standard_normal((_STARTS, len(priors)))
    high = dict(zip((prior.name for prior in priors), (values > centre + spread).T, strict=True))
    dies, slow = high["inactivation_per_day"], high["second"]
    theta = to_theta(values, priors)
    first_per_min = (evidence.tail.bubbles[0] + 0.5) / evidence.tail.seconds[0] * 60.0
    rate = column_names(priors).index("rate")
    theta[:, rate] = np.log(first_per_min) + 0.3 * rng.standard_normal(_STARTS)
    order = np.argsort(density(theta))
    lots = [order[some[order]] for some in (~dies & ~slow, dies & ~slow, slow)]
    return [theta[lot[-1]] for lot in lots if len(lot)]


def _search(
    density: LogDensity,
    starts: list[Floats],
    priors: tuple[Prior, ...],
    rng: np.random.Generator,
) -> tuple[Draws, list[Mode]]:
    """Draws of the density, and the modes that they were begun from."""
    _, spread = centre_and_spread(priors)
    modes = [_widened_mode(density, start, spread) for start in starts]
    draws = importance_draws(density, modes, rng=rng)
    if draws.effective_sample_size < ENOUGH:  # a few outweigh all: there is a mode that was missed
        best = draws.theta[np.argmax(draws.weights)]
        modes.append(_widened_mode(density, best, spread))
        draws = importance_draws(density, modes, rng=rng)
    if not draws.effective_sample_size >= _FEWEST_DRAWS:  # written so that nan is refused too
        raise FitError(f"only {draws.effective_sample_size:.0f} effective draws")
    return draws, modes


def _search_trouble(draws: Draws, modes: list[Mode]) -> str:
    if draws.effective_sample_size < ENOUGH:
        return f"only {draws.effective_sample_size:.0f} effective draws"
    if not all(mode.reached for mode in modes):
        return "a search for the best curve stopped short"
    return ""


def _widened_mode(density: LogDensity, start: Floats, spread: Floats) -> Mode:
    """A mode as wide as the density far from it: never much wider than the priors."""
    mode = find_mode(density, start, scale=spread, flat=_FLAT)
    inverse = np.linalg.inv(mode.covariance)
    wide = _CURVED * inverse + (1.0 - _CURVED) * np.diag(1.0 / spread**2)
    return replace(mode, covariance=np.asarray(np.linalg.inv(wide), float))
