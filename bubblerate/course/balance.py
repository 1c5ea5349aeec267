"""Works out strength, sugar and doses of a wine by mass balance, through every pouring.

Litres, % vol, SG, g/L, mg/L; a range has 80 %. If the start was never read it comes from the sugar
of the recipe, else from the bubbles counted, else from what is usual for the style, and the answer
says which. What came from another jar is taken from that jar's diary.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, Final, NamedTuple

import numpy as np

from ..physics.extract import extract_g_per_litre
from .mass import Draws
from .must import Told
from .pourings import Walked, walked
from .weighed_in import Unweighed

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime

    from numpy.typing import NDArray

    from ..diary.outcomes import Opened

__all__ = ["Balance", "Middle", "Sweetness", "Told", "Unweighed", "balance", "blended", "sweetness"]

_SEED: Final = 20261001
# Extract that is no sugar [g/L]: acids, glycerol, minerals; sorbitol too in perry. The densities of
# `physics.alcohol` give 17 to 30 for dry wine; common practice, no source.
_NO_SUGAR: Final = (15.0, 30.0)


class Sweetness(StrEnum):
    """Words for sugar left: OIV, Code of Oenological Practices I.3.2, without its acid clause."""

    DRY = "dry"
    MEDIUM_DRY = "medium dry"
    SEMI_SWEET = "semi-sweet"
    SWEET = "sweet"


SWEETNESS_G_PER_LITRE: Final = (
    (4.0, Sweetness.DRY),
    (12.0, Sweetness.MEDIUM_DRY),
    (45.0, Sweetness.SEMI_SWEET),
)


class Middle(NamedTuple):
    """A value with its 80 % range."""

    low: float
    middle: float
    high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Balance:
    """What is in a wine, as far as it is known.

    Attributes
    ----------
    litres : float or None
    abv_pct, sg : Middle
        Strength [% vol] and gravity.
    sugar_g_per_litre : Middle
        Sugar, whether yeast can use it or not.
    start : Told
        Where the gravity of the must comes from.
    end : Told
        Where today's gravity comes from: a reading, or what is supposed.
    unknown : tuple of str
        What was assumed as usual: jars without a diary, and events without an amount.
    so2_mg_per_litre, sorbic_mg_per_litre : Middle
        Sulphur dioxide and sorbic acid put in so far, as far as it was weighed [mg/L]. Wine binds
        sulphite, and it fades, so no more than this is free. What the yeast makes comes on top.
    unweighed : tuple of Unweighed
        Doses whose amount nobody noted: more than the above is in it.
    """

    litres: float | None
    abv_pct: Middle
    sg: Middle
    sugar_g_per_litre: Middle
    start: Told
    end: Told
    unknown: tuple[str, ...]
    so2_mg_per_litre: Middle
    sorbic_mg_per_litre: Middle
    unweighed: tuple[Unweighed, ...]


def balance(
    jar: Opened, *, at: datetime, of: Callable[[str], Opened | None] | None = None
) -> Balance | None:
    """Work out strength, gravity and sugar of a wine.

    Parameters
    ----------
    jar : Opened
        Its diary, and the settings beside it.
    at : datetime
        The moment asked about, aware; later rows are not used.
    of : callable, optional
        Diary of another jar, by its name.

    Returns
    -------
    Balance or None
        None if neither gravity nor bubbles nor sugar was ever noted.
    """
    draws = Draws(np.random.default_rng(_SEED))
    found = walked(jar, at=at, of=of or (lambda _: None), draws=draws)
    if found is None:
        return None
    return _balance(found, draws)


def blended(
    one: Opened, other: Opened, *, at: datetime, of: Callable[[str], Opened | None]
) -> Balance | None:
    """Work out two wines poured together; None if one of them is unknown."""
    draws = Draws(np.random.default_rng(_SEED))
    both = [walked(jar, at=at, of=of, draws=draws) for jar in (one, other)]
    if both[0] is None or both[1] is None:
        return None
    first, second = both[0], both[1]
    litres = None
    if first.litres is not None and second.litres is not None:
        litres = first.litres + second.litres
    both_of_them = Walked(
        wine=first.wine.with_wine(second.wine),
        litres=litres,
        start=max(first.start, second.start, key=[*Told].index),
        end=max(first.end, second.end, key=[*Told].index),
        unknown=(*first.unknown, *second.unknown),
        unweighed=(*first.unweighed, *second.unweighed),
    )
    return _balance(both_of_them, draws)


def sweetness(sugar_g_per_litre: float) -> Sweetness:
    """Word for this much sugar.

    Examples
    --------
    >>> sweetness(3.0).value, sweetness(30.0).value
    ('dry', 'semi-sweet')
    """
    for most, word in SWEETNESS_G_PER_LITRE:
        if sugar_g_per_litre <= most:
            return word
    return Sweetness.SWEET


def _balance(found: Walked, draws: Draws) -> Balance:
    wine = found.wine
    extract = extract_g_per_litre(np.clip(wine.abv_pct, 0.0, 25.0), wine.sg)
    sugar = np.maximum(extract - draws.between(*_NO_SUGAR), 0.0)
    return Balance(
        litres=found.litres,
        abv_pct=_middle(wine.abv_pct),
        sg=_middle(wine.sg),
        sugar_g_per_litre=_middle(sugar),
        start=found.start,
        end=found.end,
        unknown=tuple(dict.fromkeys(found.unknown)),
        so2_mg_per_litre=_middle(wine.so2_mg_per_litre),
        sorbic_mg_per_litre=_middle(wine.sorbic_mg_per_litre),
        unweighed=tuple(dict.fromkeys(found.unweighed)),
    )


def _middle(drawn: NDArray[np.float64]) -> Middle:
    low, high = np.quantile(drawn[1:], (0.1, 0.9))
    middle = float(drawn[0])
    return Middle(min(float(low), middle), middle, max(float(high), middle))
