"""The settings as frozen values: what may be set, and within which limits.

Gravities are SG, temperatures Celsius, volumes litres.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Final, Literal, TypeAlias

from ..text import plain, quoted
from . import units

__all__ = [
    "DAYS_SEEN",
    "INSTRUMENTS",
    "KEEPING",
    "NUMBERS",
    "THRESHOLD_PER_MIN",
    "Hydrometer",
    "Instrument",
    "Keeping",
    "Settings",
    "VesselSettings",
    "shown",
    "wrong",
]

Instrument: TypeAlias = Literal["hydrometer", "refractometer"]
INSTRUMENTS: Final[tuple[Instrument, ...]] = ("hydrometer", "refractometer")  # that show Brix
STEM_C: Final = 20.0  # temperature at which most stems are calibrated; common practice, no source
THRESHOLD_PER_MIN: Final = 1.0  # below it an airlock is called quiet; common practice, no source

_LIMITS = {
    "calibration_c": (0.0, 40.0, "Celsius from 0 to 40, such as 20"),
    "offset": (-0.05, 0.05, "SG from -0.05 to 0.05, such as 0.002"),
    "per_min": (0.001, 1000.0, "bubbles a minute from 0.001 to 1000, such as 1"),
    "finish": (0.980, 1.040, "a gravity from 0.980 to 1.040, such as 0.996"),
    "litres": (*units.LITRES, "litres from 0.05 to 10000, such as 4.5"),
    "full_litres": (*units.LITRES, "litres from 0.05 to 10000, such as 4.7"),
    "ph": (2.5, 4.5, "a pH from 2.5 to 4.5, such as 3.4"),
    "drink_from_months": (0.0, 120.0, "months from 0 to 120, such as 6"),
    "best_by_months": (1.0, 600.0, "months from 1 to 600, such as 24"),
    # at least three weeks from racking to racking: a handbook's rule, quoted by makers
    "racking_days": (21.0, 180.0, "days from 21 to 180, such as 45"),
    "fining_days": (1.0, 60.0, "days from 1 to 60, such as 14"),
    "chill_days": (1.0, 90.0, "days from 1 to 90, such as 30"),
    "deposit_days": (14.0, 365.0, "days from 14 to 365, such as 30"),
    "upright_days": (0.0, 14.0, "days from 0 to 14, such as 5"),
}
KEEPING = ("racking_days", "fining_days", "chill_days", "deposit_days", "upright_days")
NUMBERS = ("finish", "litres", "full_litres", "ph", "drink_from_months", "best_by_months")
DAYS_SEEN = ("clear_since", "degassed_on", "malolactic_settled_on")


@dataclass(frozen=True, slots=True, kw_only=True)
class Hydrometer:
    """Temperature of calibration [C], and how much it reads too high in water [SG]."""

    calibration_c: float = STEM_C
    offset: float = 0.0

    def __post_init__(self) -> None:
        _refuse_nonsense("calibration_c", self.calibration_c)
        _refuse_nonsense("offset", self.offset)


@dataclass(frozen=True, slots=True, kw_only=True)
class Keeping:
    """Waits while keeping wine, in days.

    Attributes
    ----------
    racking_days : float
        From one racking to the next while new lees fall.
    fining_days : float
        Time for finings to work.
    chill_days : float
        Time in the cool before a wine that does not clear is fined.
    deposit_days : float
        Time clear and without new lees before bottling.
    upright_days : float
        Time that corked bottles stand before they are laid down.
    """

    racking_days: float = 45.0
    fining_days: float = 14.0
    chill_days: float = 30.0
    deposit_days: float = 30.0
    upright_days: float = 5.0

    def __post_init__(self) -> None:
        for key in KEEPING:
            _refuse_nonsense(key, getattr(self, key))


@dataclass(frozen=True, slots=True, kw_only=True)
class VesselSettings:
    """What the maker expects and has seen of one vessel; None if nothing is set.

    Attributes
    ----------
    finish : float or None
        Gravity at which it should end [SG].
    litres : float or None
        Wine in it [L].
    pitched : datetime or None
        When the yeast went in.
    full_litres : float or None
        Wine in it when it is filled to its right headspace [L].
    style : str or None
        What is in the jar, in the maker's words: "cider", "quince wine".
    ph : float or None
        As measured.
    drink_from_months, best_by_months : float or None
        Months from bottling.
    clear_since : date or None
        Since when it has been clear by torchlight, without new lees.
    degassed_on : date or None
        When a shaken sample gave no puff of gas and no prickle.
    malolactic_settled_on : date or None
        When malolactic fermentation is over, or was ruled out.
    spare_for : str
        Jar that this one is there to top up; empty if it is not a spare.
    brix_by : {"hydrometer", "refractometer"} or None
        Instrument of its Brix readings.
    place : str
        Where the jar or its bottles are.
    """

    finish: float | None = None
    litres: float | None = None
    pitched: datetime | None = None
    full_litres: float | None = None
    style: str | None = None
    ph: float | None = None
    drink_from_months: float | None = None
    best_by_months: float | None = None
    clear_since: date | None = None
    degassed_on: date | None = None
    malolactic_settled_on: date | None = None
    spare_for: str = ""
    brix_by: Instrument | None = None
    place: str = ""

    def __post_init__(self) -> None:
        for key in NUMBERS:
            _refuse_nonsense(key, getattr(self, key))
        if self.pitched is not None and self.pitched.utcoffset() is None:
            raise ValueError(f"pitched is {self.pitched}; it needs a UTC offset")
        if self.style is not None and not self.style.strip():
            raise ValueError(f"style is {self.style!r}; it says what is in the jar")
        if self.brix_by not in {None, *INSTRUMENTS}:
            raise ValueError(f"brix_by is {self.brix_by!r}; one of {', '.join(INSTRUMENTS)}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """All settings of `bubblerate.toml`, with the usual values for the rest.

    Attributes
    ----------
    hydrometer : Hydrometer
    threshold_per_min : float
        Rate below which a vessel counts as quiet [bubbles/min].
    keeping : Keeping
    vessels : mapping of str to VesselSettings
        By name of the vessel.
    faults : mapping of str to tuple of str
        Settings of a vessel that were not understood, by its name; they are not used.

    Examples
    --------
    >>> Settings(vessels={"fig": VesselSettings(finish=0.998)}).vessel("fig").finish
    0.998
    """

    hydrometer: Hydrometer = field(default_factory=Hydrometer)
    threshold_per_min: float = THRESHOLD_PER_MIN
    keeping: Keeping = field(default_factory=Keeping)
    vessels: Mapping[str, VesselSettings] = field(default_factory=dict)
    faults: Mapping[str, tuple[str, ...]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        _refuse_nonsense("per_min", self.threshold_per_min)

    def vessel(self, name: str) -> VesselSettings:
        """Give the settings of one vessel, empty if nothing is set."""
        return self.vessels.get(name, VesselSettings())


def wrong(key: str, value: object) -> str:
    """Say what is wrong with a number and what would do; empty if nothing is."""
    low, high, wanted = _LIMITS[key]
    if isinstance(value, int | float) and not isinstance(value, bool):
        if low <= value <= high:  # written this way to refuse nan too
            return ""
        if key == "finish" and 1000.0 * low <= value <= 1000.0 * high:
            wanted = plain(value / 1000.0)
    return f"is {shown(value)}; write {wanted}"


def shown(value: object) -> str:
    """Quote a value in a message."""
    return quoted(value) if isinstance(value, str) else quoted(str(value))[1:-1]


def _refuse_nonsense(key: str, value: float | None) -> None:
    if value is not None and (why := wrong(key, value)):
        raise ValueError(f"{key} {why}")
