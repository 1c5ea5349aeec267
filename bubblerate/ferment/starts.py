"""Where the search for the best curve begins: one start for each way a ferment may slow."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from .likelihood import terms
from .modes import Modes, climb
from .priors import READING_SD_POINTS
from .theta import centre_and_spread, column_names, to_theta

if TYPE_CHECKING:
    from .evidence import Evidence
    from .priors import Prior
    from .sampling import Draws

__all__ = ["climb_on", "first_modes", "more_modes"]

Floats = NDArray[np.float64]

_STARTS = 192  # draws of the priors, from which the starts are chosen
_TRICKLE = 3.0  # how much less than usual a trickle slows, in spreads of the prior
_STEPS = 4  # every start climbs these; they end apart, which spreads the first proposals
_SETTLED = 0.5  # the highest stops climbing when a step gains less than this
_MORE, _MORE_STEPS = 6, 12  # heaviest draws to start from, where a peak may have been missed
_FAR_BELOW = 8.0  # ln below the likeliest: a start that low adds nothing
_NEAR = 0.3  # standard deviations: two starts this near make one part of the mixture
_CURVED = 0.3  # share of the curvature at the mode that is trusted away from it


def first_modes(
    evidence: Evidence, priors: tuple[Prior, ...], *, rng: np.random.Generator
) -> Modes:
    """Places where the sampling begins.

    Parameters
    ----------
    evidence : Evidence
    priors : tuple of Prior
        From `choose_priors`.
    rng : numpy.random.Generator

    Returns
    -------
    Modes
        Each a few steps up from a start; those that add nothing are left out. The priors come last,
        because the counts may follow no curve at all.

    Raises
    ------
    ArithmeticError
        If the density is not finite near a start.
    """
    centre, spread = centre_and_spread(priors)
    drawn = centre + spread * rng.standard_normal((_STARTS, len(centre)))
    found = _climbed(_starts(drawn, evidence, priors, rng), evidence, priors, steps=_STEPS)
    theta = to_theta(drawn, priors)
    return found.distinct(_FAR_BELOW, _NEAR).and_around(np.mean(theta, axis=0), np.cov(theta.T))


def more_modes(modes: Modes, draws: Draws, evidence: Evidence, priors: tuple[Prior, ...]) -> Modes:
    """The same places, and those that the heaviest draws lead to.

    Parameters
    ----------
    modes : Modes
        What `first_modes` found.
    draws : Draws
        A few of them outweigh all others, so a mode was missed.
    evidence : Evidence
    priors : tuple of Prior

    Returns
    -------
    Modes
        The priors last.
    """
    heaviest = np.argsort(-draws.weights, kind="stable")[:_MORE]
    found = _climbed(draws.theta[heaviest], evidence, priors, steps=_MORE_STEPS)
    both = found.and_these(modes).distinct(_FAR_BELOW, _NEAR)
    return both.and_around(modes.at[-1], modes.covariance[-1])


def climb_on(modes: Modes, evidence: Evidence, priors: tuple[Prior, ...]) -> Modes:
    """The same places, one step further up with other evidence; the priors last."""
    found = _climbed(modes.at[:-1], evidence, priors, steps=1)
    return found.distinct(_FAR_BELOW, _NEAR).and_around(modes.at[-1], modes.covariance[-1])


def _climbed(starts: Floats, evidence: Evidence, priors: tuple[Prior, ...], *, steps: int) -> Modes:
    return climb(
        lambda theta: terms(theta, evidence, priors).slopes,
        starts,
        scale=centre_and_spread(priors)[1],
        steps=steps,
        flat=_SETTLED,
        prior=1.0 - _CURVED,
    )


def _starts(
    drawn: Floats, evidence: Evidence, priors: tuple[Prior, ...], rng: np.random.Generator
) -> Floats:
    """Draws of the priors that fit best, four for each way a ferment may slow.

    Bubbles may slow because sugar runs out (slowly or at once), because the yeast dies, or because
    a second sugar is left. For each way one start is near the rate of the first count. One adds a
    trickle that hardly slows, as the last counts show. One ends at the last gravity read, since the
    ferment may have stopped there. One takes its rate from the priors, since the first count may be
    an outlier.
    """
    centre, spread = centre_and_spread(priors)
    theta, names = to_theta(drawn, priors), column_names(priors)
    column = {name: names.index(name) for name in names}
    lots = [theta[lot::4] for lot in range(4)]
    tail, late = evidence.tail, len(evidence.tail) // 3
    first_per_min = 60.0 * (tail.bubbles[0] + 0.5) / tail.seconds[0]
    last_per_min = 60.0 * (tail.bubbles[-late:].sum() + 0.5) / tail.seconds[-late:].sum()
    for lot in lots[:3]:
        noise = 0.3 * rng.standard_normal(len(lot))
        lot[:, column["rate"]] = np.log(first_per_min) + noise
    lots[1][:, column["share"]] = np.log(last_per_min / first_per_min)
    lots[1][:, column["pace"]] -= _TRICKLE * spread[column["pace"]]
    if "end" in names:
        off = terms(lots[2], evidence, priors).off_readings[:, -1]
        lots[2][:, column["end"]] += READING_SD_POINTS * off
    height = terms(theta, evidence, priors).log_density
    ways = _ways_to_slow((drawn - centre) / spread, priors)
    lot_of = np.arange(len(theta)) % len(lots)
    some = (np.flatnonzero(way & (lot_of == lot)) for lot in range(len(lots)) for way in ways)
    return theta[[one[np.argmax(height[one])] for one in some if len(one)]]


def _ways_to_slow(off: Floats, priors: tuple[Prior, ...]) -> NDArray[np.bool_]:
    """Draws by why they slow: sugar gone, dying yeast, second sugar, sugar gone at once."""
    name = dict(zip((prior.name for prior in priors), off.T, strict=True))
    dies, slow = name["inactivation_per_day"] > 1.0, name["second"] > 1.0
    sharp = name["half_saturation"] < -1.0
    only = ~dies & ~slow
    return np.array([only & ~sharp, dies & ~slow, slow, only & sharp])
