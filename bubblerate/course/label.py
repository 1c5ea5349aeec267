"""What a bottle's label says: worked out from the diary.

Strength is in % vol and always an estimate. What a fining was comes from the note of its row.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from ..diary.events import ADDED
from ..ferment.gravity import corrected_readings
from ..physics.alcohol import abv_from_sg
from .ripening import best_by_months, months_on, ripe_months

if TYPE_CHECKING:
    from datetime import date

    from ..diary.settings import Hydrometer, VesselSettings
    from .standing import Standing

__all__ = ["Label", "finings_in", "label", "original_gravity"]

# Words in the note of a `fined` row, and what its drinkers must know of. Allergens that law wants
# named (EU 1169/2011, annex II, from memory), and gelatine, which some will not take.
_FININGS: Final = (
    (("egg", "albumen", "albumin"), "egg"),
    (("milk", "casein", "whey"), "milk"),
    (("isinglass", "fish"), "fish"),
    (("chitosan", "shellfish", "two-part", "two part"), "shellfish"),
    (("gelatine", "gelatin"), "gelatine"),
)
_FREE_OF_THEM: Final = ("bentonite", "clay", "silica", "pectin", "pectic", "enzyme", "agar")
_LONGEST_NOTE: Final = 60  # characters that a label has room for


@dataclass(frozen=True, slots=True, kw_only=True)
class Label:
    """What is known of a wine in the bottle; None where it is not.

    Attributes
    ----------
    name : str
    year : int or None
        In which it was pitched.
    style : str or None
    litres : float or None
        Bottled, or in the vessel.
    abv_pct : float or None
        Estimate [% vol].
    bottled_on, drink_from, best_by : date or None
    contains : tuple of str
        Sulphite and what is in the finings, as a guest must know it.
    doubtful : tuple of str
        Finings of which it is not known what is in them.
    """

    name: str
    year: int | None
    style: str | None
    litres: float | None
    abv_pct: float | None
    bottled_on: date | None
    drink_from: date | None
    best_by: date | None
    contains: tuple[str, ...]
    doubtful: tuple[str, ...]


def label(stands: Standing, *, known: VesselSettings, hydrometer: Hydrometer) -> Label:
    """Gather what a label says.

    Parameters
    ----------
    stands : Standing
    known : VesselSettings
    hydrometer : Hydrometer
        It corrects the readings that the strength is estimated from.

    Returns
    -------
    Label
    """
    bottled_on = stands.last_day("bottled")
    fades = best_by_months(known)
    contains, doubtful = finings_in([visit.note for visit in stands.did("fined")])
    sulphited = stands.did("sulphited") or stands.did("stabilised")
    return Label(
        name=stands.vessel,
        year=None if stands.pitched_on is None else stands.pitched_on.year,
        style=known.style,
        litres=stands.litres,
        abv_pct=_abv_pct(stands, hydrometer),
        bottled_on=bottled_on,
        drink_from=None if bottled_on is None else months_on(bottled_on, ripe_months(known)[0]),
        best_by=None if bottled_on is None or fades is None else months_on(bottled_on, fades),
        contains=(("sulphite",) if sulphited else ()) + contains,
        doubtful=doubtful,
    )


def finings_in(notes: list[str]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """What is in the finings that notes name.

    Parameters
    ----------
    notes : list of str
        One for each time it was fined.

    Returns
    -------
    contains : tuple of str
        What a guest must know of, each once.
    doubtful : tuple of str
        Notes that name no fining known here; an empty note is "not noted which".

    Examples
    --------
    >>> finings_in(["silica, then chitosan", "bentonite", ""])
    (('shellfish',), ('not noted which',))
    """
    contains: list[str] = []
    doubtful: list[str] = []
    for note in notes:
        text = note.lower()
        found = [what for words, what in _FININGS if any(word in text for word in words)]
        contains += found
        if not found and not any(word in text for word in _FREE_OF_THEM):
            line = " ".join(note.split())
            named = line if len(line) <= _LONGEST_NOTE else f"{line[: _LONGEST_NOTE - 3]}..."
            doubtful.append(named or "not noted which")
    return tuple(dict.fromkeys(contains)), tuple(dict.fromkeys(doubtful))


def original_gravity(stands: Standing, hydrometer: Hydrometer) -> float | None:
    """Gravity at the start; None where none was read before it fell, or sugar was fed later."""
    if any(visit.event in ADDED - {"topped-up"} for visit in stands.rows):
        return None
    # wine that was topped up is still the same wine
    seen = corrected_readings([v for v in stands.rows if v.event != "topped-up"], hydrometer)
    highest = max((reading.sg for reading in seen), default=0.0)
    return seen[0].sg if len(seen) > 1 and seen[0].sg == highest else None


def _abv_pct(stands: Standing, hydrometer: Hydrometer) -> float | None:
    og = original_gravity(stands, hydrometer)
    if og is None:
        return None
    now = corrected_readings([v for v in stands.rows if v.event != "topped-up"], hydrometer)[-1].sg
    try:
        return abv_from_sg(og, now)
    except ValueError:  # a start or an end that no wine has
        return None
