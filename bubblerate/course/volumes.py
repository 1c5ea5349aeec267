"""Works out litres up to the bottle: losses, topping up, spare wine, how many bottles.

Volumes are litres; a range is (low, high). Losses that the diary shows are given as they were.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Final

from ..physics.constants import (
    UK_FL_OZ_LITRES,
    UK_GALLON_LITRES,
    US_FL_OZ_LITRES,
    US_GALLON_LITRES,
)

if TYPE_CHECKING:
    from .standing import Standing

__all__ = [
    "BOTTLES_CL",
    "FILTER_LITRES",
    "Volumes",
    "bottles",
    "headspace_cm",
    "measure",
    "volumes",
]

Range = tuple[float, float]

# Share of the wine left with the lees: 100 to 300 mL from a jar of 4.5 L (from memory, no source).
RACKING_SHARE: Final[Range] = (0.1 / 4.5, 0.3 / 4.5)
SAMPLE_LITRES: Final[Range] = (0.10, 0.25)  # a jar and a hydrometer full (from memory, no source)
FILTER_LITRES: Final[Range] = (0.1, 0.3)  # what a pad and hoses keep (from memory, no source)
RACKINGS: Final = 3  # at the end, about 2 months later, and 1 to 2 after that: a farmhouse handbook
SAMPLES: Final = 3  # at the threshold, some days later, before bottling; common practice, no source

BOTTLES_CL: Final = (75, 50)
_BOTTLE_LITRES: Final = 0.75

# Between wine and bung, by litres [cm]: 1.5, 2 and 3 inches; common practice, no source.
_HEADSPACE_CM: Final = ((8.0, 4.0), (15.0, 5.0), (float("inf"), 8.0))


@dataclass(frozen=True, slots=True, kw_only=True)
class Loss:
    """Wine that one step took, as the diary shows."""

    event: str
    litres: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Volumes:
    """The litres of one wine.

    Attributes
    ----------
    litres : float
        Wine in the vessel now.
    top_up_litres : float
        Wine to fill it to its right headspace.
    headspace_cm : float
        That headspace, between wine and bung [cm].
    lost : tuple of Loss
        Losses so far.
    rackings, samples : int
        How many are still to come, usually.
    first : bool
        Whether the first racking is still to come.
    to_lose : Range
        Losses still to come, to the lees and the trial jar.
    spare_bottles : int
        Bottles of 75 cl that replace what the lees take; a sample may be poured back.
    in_bottle : Range
        Wine left for bottles if not topped up.
    """

    litres: float
    top_up_litres: float
    headspace_cm: float
    lost: tuple[Loss, ...]
    rackings: int
    samples: int
    first: bool
    to_lose: Range
    spare_bottles: int
    in_bottle: Range


def volumes(stands: Standing, *, clear: bool) -> Volumes | None:
    """Work out the litres of a wine; None if nobody noted how much there is.

    Parameters
    ----------
    stands : Standing
    clear : bool
        Whether it was noted as clear, and nothing has ended that.

    Returns
    -------
    Volumes or None
    """
    litres = stands.litres
    if litres is None:
        return None
    done = len(stands.did("racked"))
    # a clear wine without new lees is not racked again, except once after finings
    rackings = int(stands.on_finings) if clear else max(RACKINGS - done, 0)
    samples = SAMPLES if not done else 1 if clear else 2
    low, high = (
        rackings * share * litres + samples * sample
        for share, sample in zip(RACKING_SHARE, SAMPLE_LITRES, strict=True)
    )
    short = max((stands.full_litres or litres) - litres, 0.0)
    return Volumes(
        litres=litres,
        top_up_litres=short,
        headspace_cm=headspace_cm(litres),
        lost=_lost(stands),
        rackings=rackings,
        samples=samples,
        first=not done and rackings > 0,
        to_lose=(low, high),
        spare_bottles=max(math.ceil(_to_lees(litres, rackings, short) / _BOTTLE_LITRES), 1),
        in_bottle=(max(litres - high, 0.0), max(litres - low, 0.0)),
    )


def _to_lees(litres: float, rackings: int, short: float) -> float:
    """Wine a spare should replace: the usual loss of rackings to come, and what is missing now."""
    return sum(RACKING_SHARE) / 2.0 * litres * rackings + short


def headspace_cm(litres: float) -> float:
    """Usual gap between wine and bung once the ferment is over [cm].

    Examples
    --------
    >>> headspace_cm(4.5), headspace_cm(23.0)
    (4.0, 8.0)
    """
    return next(gap for most, gap in _HEADSPACE_CM if litres < most)


def bottles(litres: float, size_cl: int) -> int:
    """Full bottles of a size; the 1 to 2 cm under the closure are included.

    Examples
    --------
    >>> bottles(4.5, 75), bottles(4.5, 50)
    (6, 9)
    """
    return int(litres * 100.0 / size_cl + 1e-9)


def measure(litres: float) -> str:
    """Volume in litres with UK and US measures, in fluid ounces if small.

    Examples
    --------
    >>> measure(4.5)
    '4.5 L (0.99 UK gal, 1.19 US gal)'
    >>> measure(0.2)
    '0.20 L (7.0 UK fl oz, 6.8 US fl oz)'
    """
    if litres < 1.0:
        return (
            f"{litres:.2f} L ({litres / UK_FL_OZ_LITRES:.1f} UK fl oz, "
            f"{litres / US_FL_OZ_LITRES:.1f} US fl oz)"
        )
    return (
        f"{litres:.1f} L ({litres / UK_GALLON_LITRES:.2f} UK gal, "
        f"{litres / US_GALLON_LITRES:.2f} US gal)"
    )


def _lost(stands: Standing) -> tuple[Loss, ...]:
    noted = [(str(v.event), v.litres) for v in stands.rows if v.litres is not None]
    return tuple(
        Loss(event=event, litres=before - after)
        for (_, before), (event, after) in pairwise(noted)
        if event in {"racked", "filtered", "sampled", "fined", "fined-two-part"} and after < before
    )
