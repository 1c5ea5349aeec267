"""`bubblerate.toml`, the optional settings beside the diaries, as frozen values.

Gravities are SG, temperatures Celsius, volumes litres; a pitching date without an offset is local.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, time
from pathlib import Path
from typing import TypeVar

from . import units
from .errors import ConfigError
from .words import plain, quoted

__all__ = ["FILE_NAME", "Hydrometer", "Settings", "VesselSettings", "settings"]

FILE_NAME = "bubblerate.toml"

_TABLES = ("hydrometer", "threshold", "vessel")

_Default = TypeVar("_Default", float, None)

_LIMITS = {
    "calibration_c": (0.0, 40.0, "Celsius from 0 to 40, such as 20"),
    "offset": (-0.05, 0.05, "SG from -0.05 to 0.05, such as 0.002"),
    "per_min": (0.001, 1000.0, "bubbles a minute from 0.001 to 1000, such as 1"),
    "finish": (0.980, 1.040, "a gravity from 0.980 to 1.040, such as 0.996"),
    "litres": (*units.LITRES, "litres from 0.05 to 10000, such as 4.5"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Hydrometer:
    """Where the stem was calibrated [C], and what it reads too high in water [SG]."""

    calibration_c: float = 20.0
    offset: float = 0.0

    def __post_init__(self) -> None:
        _refuse_nonsense("calibration_c", self.calibration_c)
        _refuse_nonsense("offset", self.offset)


@dataclass(frozen=True, slots=True, kw_only=True)
class VesselSettings:
    """What the maker expects of one vessel; None where nothing is said."""

    finish: float | None = None
    litres: float | None = None
    pitched: datetime | None = None

    def __post_init__(self) -> None:
        _refuse_nonsense("finish", self.finish)
        _refuse_nonsense("litres", self.litres)
        if self.pitched is not None and self.pitched.utcoffset() is None:
            raise ValueError(f"pitched is {self.pitched}; it needs a UTC offset")


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """All that `bubblerate.toml` says, with the usual values where it is silent."""

    hydrometer: Hydrometer = field(default_factory=Hydrometer)
    threshold_per_min: float = 1.0
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
    try:
        data = (folder / FILE_NAME).read_bytes()
    except FileNotFoundError:
        return Settings()
    except OSError as err:
        raise ConfigError(f"{FILE_NAME}: cannot be read ({err.strerror}); mend or move it") from err
    import tomllib  # only when there is a file to read

    try:
        root = tomllib.loads(data.decode("utf-8-sig"))
    except UnicodeDecodeError:
        raise ConfigError(f"{FILE_NAME}: is not UTF-8 text; save it as UTF-8") from None
    except tomllib.TOMLDecodeError as err:
        raise ConfigError(f"{FILE_NAME}: is not TOML: {err}; mend it there") from None

    for key in root:
        if key not in _TABLES:
            raise _unknown(key, key, _TABLES)
    hydrometer = _table(root, "hydrometer", ("calibration_c", "offset"))
    threshold = _table(root, "threshold", ("per_min",))
    vessels = _table(root, "vessel", ())
    return Settings(
        hydrometer=Hydrometer(
            calibration_c=_number(hydrometer, "hydrometer.calibration_c", 20.0),
            offset=_number(hydrometer, "hydrometer.offset", 0.0),
        ),
        threshold_per_min=_number(threshold, "threshold.per_min", 1.0),
        vessels={name: _vessel(vessels, name) for name in vessels},
    )


def _vessel(vessels: Mapping[str, object], name: str) -> VesselSettings:
    table = _table(vessels, f"vessel.{name}", ("finish", "litres", "pitched"))
    return VesselSettings(
        finish=_number(table, f"vessel.{name}.finish", None),
        litres=_number(table, f"vessel.{name}.litres", None),
        pitched=_moment(table, f"vessel.{name}.pitched"),
    )


def _table(parent: Mapping[str, object], where: str, known: Sequence[str]) -> dict[str, object]:
    """Table of that name, empty if it is not there; any key is known when none are listed."""
    table = parent.get(where.removeprefix("vessel."), {})
    if not isinstance(table, dict):
        raise ConfigError(
            f"{FILE_NAME}: {where} is {_shown(table)}; write a line [{where}] and its keys below"
        )
    for key in table:
        if known and key not in known:
            raise _unknown(f"{where}.{key}", key, known)
    return table


def _unknown(where: str, key: str, known: Sequence[str]) -> ConfigError:
    from difflib import get_close_matches  # only needed to say what was meant

    near = get_close_matches(key, known, n=1, cutoff=0.0)[0]
    return ConfigError(f"{FILE_NAME}: {where} is not known; the nearest known key is {near}")


def _number(table: Mapping[str, object], where: str, default: _Default) -> float | _Default:
    key = where.rpartition(".")[2]
    if key not in table:
        return default
    value = table[key]
    wrong = _wrong(key, value)
    if wrong or not isinstance(value, int | float):
        raise ConfigError(f"{FILE_NAME}: {where} {wrong}")
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
    raise ConfigError(
        f"{FILE_NAME}: {where} is {_shown(value)}; write a date such as 2026-10-01, without quotes"
    )


def _wrong(key: str, value: object) -> str:
    """Say what is wrong with a number and what would do; empty if nothing is."""
    low, high, wanted = _LIMITS[key]
    if isinstance(value, int | float) and not isinstance(value, bool):
        if low <= value <= high:  # written so that nan is refused too
            return ""
        if key == "finish" and low <= value / 1000.0 <= high:
            wanted = plain(value / 1000.0)
    return f"is {_shown(value)}; write {wanted}"


def _refuse_nonsense(key: str, value: float | None) -> None:
    if value is not None and (wrong := _wrong(key, value)):
        raise ValueError(f"{key} {wrong}")


def _shown(value: object) -> str:
    return quoted(value) if isinstance(value, str) else quoted(str(value))[1:-1]
