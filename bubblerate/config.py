"""`bubblerate.toml`, the optional settings beside the diaries, as frozen values.

Gravities are SG, temperatures Celsius, volumes litres; a pitching date without an offset is local.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, time
from pathlib import Path
from typing import Any, Final, TypeVar

from . import units
from .errors import ConfigError
from .words import plain, printable, quoted

__all__ = [
    "FILE_NAME",
    "STYLES",
    "Hydrometer",
    "Keeping",
    "Settings",
    "VesselSettings",
    "settings",
]

FILE_NAME = "bubblerate.toml"

# What may be in the jar: it says when it should be ready to drink.
STYLES: Final = (
    *("dry wine", "cider", "perry", "mead", "strong mead", "apple wine", "plum wine"),
    *("rhubarb wine", "elderberry wine", "sloe wine", "parsnip wine", "strawberry wine"),
)

_MOST_BYTES, _LONGEST_LINE = 1_000_000, 500  # names of thousands of parts take ages to read

_TABLES = ("hydrometer", "threshold", "keeping", "vessel")

_Default = TypeVar("_Default", float, None)

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
    # never less than three weeks from racking to racking: a handbook's rule, quoted by makers
    "racking_days": (21.0, 180.0, "days from 21 to 180, such as 45"),
    "fining_days": (1.0, 60.0, "days from 1 to 60, such as 14"),
    "chill_days": (1.0, 90.0, "days from 1 to 90, such as 30"),
    "deposit_days": (14.0, 365.0, "days from 14 to 365, such as 30"),
    "upright_days": (0.0, 14.0, "days from 0 to 14, such as 5"),
}
_KEEPING = ("racking_days", "fining_days", "chill_days", "deposit_days", "upright_days")
_NUMBERS = ("finish", "litres", "full_litres", "ph", "drink_from_months", "best_by_months")
_DAYS_SEEN = ("clear_since", "degassed_on", "malolactic_settled_on")


@dataclass(frozen=True, slots=True, kw_only=True)
class Hydrometer:
    """Where the stem was calibrated [C], and what it reads too high in water [SG]."""

    calibration_c: float = 20.0
    offset: float = 0.0

    def __post_init__(self) -> None:
        _refuse_nonsense("calibration_c", self.calibration_c)
        _refuse_nonsense("offset", self.offset)


@dataclass(frozen=True, slots=True, kw_only=True)
class Keeping:
    """Waits of the keeping, in days; `bubblerate.steps` says where each comes from.

    Attributes
    ----------
    racking_days : float
        From one racking to the next while new lees fall.
    fining_days : float
        That finings are given to work.
    chill_days : float
        In the cool before a wine that will not clear is fined.
    deposit_days : float
        Clear and without new lees before it may be bottled.
    upright_days : float
        That corked bottles stand before they lie.
    """

    racking_days: float = 45.0
    fining_days: float = 14.0
    chill_days: float = 30.0
    deposit_days: float = 30.0
    upright_days: float = 5.0

    def __post_init__(self) -> None:
        for key in _KEEPING:
            _refuse_nonsense(key, getattr(self, key))


@dataclass(frozen=True, slots=True, kw_only=True)
class VesselSettings:
    """What the maker expects of one vessel and has seen of it; None where nothing is said.

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
        One of `STYLES`.
    ph : float or None
        As measured.
    drink_from_months, best_by_months : float or None
        From bottling.
    clear_since : date or None
        Since when it has been clear by torchlight and has dropped no new lees.
    degassed_on : date or None
        When a shaken sample gave no puff and no prickle.
    malolactic_settled_on : date or None
        When the malolactic change was found over, or was ruled out.
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

    def __post_init__(self) -> None:
        for key in _NUMBERS:
            _refuse_nonsense(key, getattr(self, key))
        if self.pitched is not None and self.pitched.utcoffset() is None:
            raise ValueError(f"pitched is {self.pitched}; it needs a UTC offset")
        if self.style is not None and self.style not in STYLES:
            raise ValueError(f"style is {self.style!r}; it is one of {', '.join(STYLES)}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """All that `bubblerate.toml` says, with the usual values where it is silent."""

    hydrometer: Hydrometer = field(default_factory=Hydrometer)
    threshold_per_min: float = 1.0
    keeping: Keeping = field(default_factory=Keeping)
    vessels: Mapping[str, VesselSettings] = field(default_factory=dict)

    def __post_init__(self) -> None:
        _refuse_nonsense("per_min", self.threshold_per_min)

    def vessel(self, name: str) -> VesselSettings:
        """Give what is said of one vessel, empty if nothing is."""
        return self.vessels.get(name, VesselSettings())


def settings(folder: Path) -> Settings:
    """Read the settings of a folder of diaries.

    Parameters
    ----------
    folder : Path
        Where `bubblerate.toml` may lie.

    Returns
    -------
    Settings
        The usual values if there is no such file.

    Raises
    ------
    ConfigError
        If the file cannot be read, or holds a key or a value that is not understood.
    """
    path = folder / FILE_NAME
    try:
        if path.is_fifo() or path.is_char_device():
            raise ConfigError(f"{FILE_NAME}: is no file but a device or a pipe; move it")
        with path.open("rb") as file:
            data = file.read(_MOST_BYTES + 1)
    except FileNotFoundError:
        return Settings()
    except OSError as err:
        raise ConfigError(f"{FILE_NAME}: cannot be read ({err.strerror}); mend or move it") from err
    longest = max(map(len, data.split(b"\n")))
    if len(data) > _MOST_BYTES or longest > _LONGEST_LINE:
        raise ConfigError(
            f"{FILE_NAME}: is larger than 1 MB, or has a line of more than {_LONGEST_LINE} "
            "characters; shorten it"
        )
    import tomllib  # only when there is a file to read

    try:
        root = tomllib.loads(data.decode("utf-8-sig"))
    except UnicodeDecodeError:
        raise ConfigError(f"{FILE_NAME}: is not UTF-8 text; save it as UTF-8") from None
    except (ValueError, RecursionError) as err:  # a number too long, brackets too deep
        raise ConfigError(f"{FILE_NAME}: is not TOML: {_short(str(err))}; mend it there") from None

    for key in root:
        if key not in _TABLES:
            raise _unknown(key, key, _TABLES)
    hydrometer = _table(root, "hydrometer", ("calibration_c", "offset"))
    threshold = _table(root, "threshold", ("per_min",))
    keeping = _table(root, "keeping", _KEEPING)
    vessels = _table(root, "vessel", ())
    usual = Keeping()
    return Settings(
        hydrometer=Hydrometer(
            calibration_c=_number(hydrometer, "hydrometer.calibration_c", 20.0),
            offset=_number(hydrometer, "hydrometer.offset", 0.0),
        ),
        threshold_per_min=_number(threshold, "threshold.per_min", 1.0),
        keeping=Keeping(
            **{key: _number(keeping, f"keeping.{key}", getattr(usual, key)) for key in _KEEPING}
        ),
        vessels={name: _vessel(vessels, name) for name in vessels},
    )


def _vessel(vessels: Mapping[str, object], name: str) -> VesselSettings:
    where = f"vessel.{name}"
    table = _table(vessels, where, (*_NUMBERS, "pitched", "style", *_DAYS_SEEN))
    said: dict[str, Any] = {key: _number(table, f"{where}.{key}", None) for key in _NUMBERS}
    said |= {key: _day(table, f"{where}.{key}") for key in _DAYS_SEEN}
    pitched, style = _moment(table, f"{where}.pitched"), _style(table, f"{where}.style")
    return VesselSettings(**said, pitched=pitched, style=style)


def _table(parent: Mapping[str, object], where: str, known: Sequence[str]) -> dict[str, object]:
    """Table of that name, empty if it is not there; any key is known when none are listed."""
    table = parent.get(where.removeprefix("vessel."), {})
    if not isinstance(table, dict):
        raise ConfigError(
            f"{_at(where)} is {_shown(table)}; write a line [{_short(where)}] and its keys below"
        )
    for key in table:
        if known and key not in known:
            raise _unknown(f"{where}.{key}", key, known)
    return table


def _unknown(where: str, key: str, known: Sequence[str]) -> ConfigError:
    from difflib import get_close_matches  # only needed to say what was meant

    near = get_close_matches(key, known, n=1, cutoff=0.0)[0]
    return ConfigError(f"{_at(where)} is not known; the nearest known key is {near}")


def _number(table: Mapping[str, object], where: str, default: _Default) -> float | _Default:
    key = where.rpartition(".")[2]
    if key not in table:
        return default
    value = table[key]
    wrong = _wrong(key, value)
    if wrong or not isinstance(value, int | float):
        raise ConfigError(f"{_at(where)} {wrong}")
    return float(value)


def _moment(table: Mapping[str, object], where: str) -> datetime | None:
    """When a vessel was pitched; a date alone is the start of that day."""
    value = table.get("pitched")
    try:
        if isinstance(value, datetime):
            return value if value.tzinfo else value.astimezone()
        if isinstance(value, date):
            return datetime.combine(value, time()).astimezone()
    except (ValueError, OverflowError, OSError):
        pass  # a year the machine's clock cannot hold
    if value is None:
        return None
    raise _no_date(where, value)


def _day(table: Mapping[str, object], where: str) -> date | None:
    """Calendar day on which something was seen."""
    value = table.get(where.rpartition(".")[2])
    if value is None or (isinstance(value, date) and not isinstance(value, datetime)):
        return value
    raise _no_date(where, value)


def _no_date(where: str, value: object) -> ConfigError:
    return ConfigError(
        f"{_at(where)} is {_shown(value)}; write a date such as 2026-10-01, without quotes"
    )


def _style(table: Mapping[str, object], where: str) -> str | None:
    value = table.get("style")
    if value is None or value in STYLES:
        return None if value is None else str(value)
    from difflib import get_close_matches  # only needed to say what was meant

    near = get_close_matches(str(value).lower(), STYLES, n=1)
    advice = f'write "{near[0]}"' if near else f"write one of {', '.join(STYLES)}"
    raise ConfigError(f"{_at(where)} is {_shown(value)}; {advice}")


def _at(where: str) -> str:
    return f"{FILE_NAME}: {_short(where)}"


def _short(text: str) -> str:
    """Text for a message: a key in quotes may hold anything."""
    shown = printable(text)
    return shown if len(shown) <= 80 else f"{shown[:77]}..."


def _wrong(key: str, value: object) -> str:
    """Say what is wrong with a number and what would do; empty if nothing is."""
    low, high, wanted = _LIMITS[key]
    if isinstance(value, int | float) and not isinstance(value, bool):
        if low <= value <= high:  # written so that nan is refused too
            return ""
        if key == "finish" and 1000.0 * low <= value <= 1000.0 * high:
            wanted = plain(value / 1000.0)
    return f"is {_shown(value)}; write {wanted}"


def _refuse_nonsense(key: str, value: float | None) -> None:
    if value is not None and (wrong := _wrong(key, value)):
        raise ValueError(f"{key} {wrong}")


def _shown(value: object) -> str:
    return quoted(value) if isinstance(value, str) else quoted(str(value))[1:-1]
