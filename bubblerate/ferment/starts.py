"""Where the search for the curve begins: every way in which a ferment may slow, and the priors."""

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

_STARTS = 192  # draws of the priors among which the search begins
_TRICKLE = 3.0  # spreads of the prior by which a trickle slows less than usual
_STEPS = 4  # of the climb of all: where they then stand differs, and spreads the first proposals
_SETTLED = 0.5  # gain of a step below which the highest climbs no further
_MORE, _MORE_STEPS = 6, 12  # of the heaviest draws, where a peak may have been missed
_FAR_BELOW = 8.0  # natural logarithms, of the likeliest: what begins there answers for nothing
_NEAR = 0.3  # standard deviations: two places so near begin one part of the mixture
_CURVED = 0.3  # share of the curvature at the mode that is believed away from it


def first_modes(
    evidence: Evidence, priors: tuple[Prior, ...], *, rng: np.random.Generator
) -> Modes:
    """Places where the sampling begins.

    Parameters
    ----------
    evidence : Evidence
    priors : tuple of Prior
        What `choose_priors` says of it.
    rng : numpy.random.Generator

    Returns
    -------
    Modes
        A few steps up from the starts, those that answer for something. Last come the priors
        themselves, for the counts may be of no curve at all.

    Raises
    ------
    ArithmeticError
        If the density is not finite around a start.
    """
    centre, spread = centre_and_spread(priors)
    drawn = centre + spread * rng.standard_normal((_STARTS, len(centre)))
    found = _climbed(_starts(drawn, evidence, priors, rng), evidence, priors, steps=_STEPS)
    theta = to_theta(drawn, priors)
    return found.distinct(_FAR_BELOW, _NEAR).and_around(np.mean(theta, axis=0), np.cov(theta.T))


def more_modes(modes: Modes, draws: Draws, evidence: Evidence, priors: tuple[Prior, ...]) -> Modes:
    """The same places, and those to which the heaviest draws lead.

    Parameters
    ----------
    modes : Modes
        What `first_modes` found.
    draws : Draws
        Of which a few outweigh all: there is a mode that was missed.
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
    """The same places a step further up, by other evidence; the priors last."""
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
    """Draws of the priors that fit best, four of each way in which a ferment may slow.

    What is seen may be sugar running out, little by little or at once, yeast dying, or a second
    sugar. One of each begins near the rate of the first count; one there with a trickle, as of the
    last counts, that hardly slows; one at a finish that makes the last gravity what was read, for
    it may be that the ferment has stopped there; and one at the rate of the priors, for the first
    count may be the outlier.
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
    if "finish" in names:
        off = terms(lots[2], evidence, priors).off_readings[:, -1]
        lots[2][:, column["finish"]] += READING_SD_POINTS * off
    height = terms(theta, evidence, priors).log_density
    ways = _ways_to_slow((drawn - centre) / spread, priors)
    lot_of = np.arange(len(theta)) % len(lots)
    some = (np.flatnonzero(way & (lot_of == lot)) for lot in range(len(lots)) for way in ways)
    return theta[[one[np.argmax(height[one])] for one in some if len(one)]]


def _ways_to_slow(off: Floats, priors: tuple[Prior, ...]) -> NDArray[np.bool_]:
    """Which draws of the priors slow by sugar running out, dying, a second sugar, or at once."""
    name = dict(zip((prior.name for prior in priors), off.T, strict=True))
    dies, slow = name["inactivation_per_day"] > 1.0, name["second"] > 1.0
    sharp = name["half_saturation"] < -1.0
    only = ~dies & ~slow
    return np.array([only & ~sharp, dies & ~slow, slow, only & sharp])
