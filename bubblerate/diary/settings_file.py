"""Reads `bubblerate.toml`, the optional settings beside the diaries, with helpful errors.

A pitching date without an offset is local.
"""

from collections.abc import Callable, Mapping, Sequence
from datetime import date, datetime, time
from pathlib import Path
from typing import Any, Final, TypeVar

from ..errors import ConfigError
from ..text import printable
from .settings import (
    DAYS_SEEN,
    INSTRUMENTS,
    KEEPING,
    NUMBERS,
    THRESHOLD_PER_MIN,
    Hydrometer,
    Instrument,
    Keeping,
    Settings,
    VesselSettings,
    shown,
    wrong,
)

__all__ = ["FILE_NAME", "content", "settings", "settings_of"]

FILE_NAME = "bubblerate.toml"

_LONGEST_TEXT = 60  # letters in a style or a name
_MOST_BYTES, _LONGEST_LINE = 1_000_000, 500  # names with thousands of parts take ages to read
_TABLES = ("hydrometer", "threshold", "keeping", "vessel")

_Default = TypeVar("_Default", float, None)


def settings(folder: Path) -> Settings:
    """Read the settings of a folder of diaries.

    Parameters
    ----------
    folder : Path
        Where `bubblerate.toml` may be.

    Returns
    -------
    Settings
        The usual values if there is no such file.

    Raises
    ------
    ConfigError
        If the file cannot be read, or a setting for all vessels is wrong. A bad key of one vessel
        is left out for that vessel, and listed in `Settings.faults`.

    Examples
    --------
    >>> settings(Path("examples")).threshold_per_min
    1.0
    """
    data = content(folder / FILE_NAME)
    return Settings() if data is None else settings_of(data)


def settings_of(data: bytes) -> Settings:
    """Read settings from the bytes of such a file.

    Raises
    ------
    ConfigError
        As for `settings`.
    """
    return _settings(_root(data))


def content(path: Path) -> bytes | None:
    """Read the bytes of the file, None if there is none.

    Raises
    ------
    ConfigError
        If it cannot be read, is not a file, or is too large.
    """
    try:
        if path.is_fifo() or path.is_char_device():
            raise ConfigError(f"{FILE_NAME}: is a device or a pipe, not a file; move it")
        with path.open("rb") as file:
            data = file.read(_MOST_BYTES + 1)
    except FileNotFoundError:
        return None
    except OSError as err:
        raise ConfigError(
            f"{FILE_NAME}: cannot be read ({err.strerror}); correct or move it"
        ) from err
    longest = max(map(len, data.split(b"\n")))
    if len(data) > _MOST_BYTES or longest > _LONGEST_LINE:
        raise ConfigError(
            f"{FILE_NAME}: is larger than 1 MB, or has a line of more than {_LONGEST_LINE} "
            "characters; shorten it"
        )
    return data


def _root(data: bytes) -> dict[str, object]:
    """The tables of the file; an unknown one is an error."""
    import tomllib  # only if there is a file to read

    try:
        root = tomllib.loads(data.decode("utf-8-sig"))
    except UnicodeDecodeError:
        raise ConfigError(f"{FILE_NAME}: is not UTF-8 text; save it as UTF-8") from None
    except (ValueError, RecursionError) as err:  # a number too long, or brackets too deep
        raise ConfigError(
            f"{FILE_NAME}: is not valid TOML: {_short(str(err))}; correct it there"
        ) from None
    for key in root:
        if key not in _TABLES:
            raise _unknown(key, key, _TABLES)
    return root


def _settings(root: Mapping[str, object]) -> Settings:
    hydrometer = _table(root, "hydrometer", ("calibration_c", "offset"))
    threshold = _table(root, "threshold", ("per_min",))
    keeping = _table(root, "keeping", KEEPING)
    vessels = _table(root, "vessel", ())
    stem, usual = Hydrometer(), Keeping()
    faults: dict[str, list[str]] = {}
    said = {name: _vessel(vessels, name, faults.setdefault(name, [])) for name in vessels}
    return Settings(
        hydrometer=Hydrometer(
            calibration_c=_number(hydrometer, "hydrometer.calibration_c", stem.calibration_c),
            offset=_number(hydrometer, "hydrometer.offset", stem.offset),
        ),
        threshold_per_min=_number(threshold, "threshold.per_min", THRESHOLD_PER_MIN),
        keeping=Keeping(
            **{key: _number(keeping, f"keeping.{key}", getattr(usual, key)) for key in KEEPING}
        ),
        vessels=said,
        faults={name: tuple(found) for name, found in faults.items() if found},
    )


def _vessel(vessels: Mapping[str, object], name: str, faults: list[str]) -> VesselSettings:
    """The settings of one vessel; a key that cannot be used becomes a fault."""
    where, said = f"vessel.{name}", dict[str, Any]()
    try:
        table = _table(vessels, where, ())
    except ConfigError as err:
        faults.append(str(err))
        return VesselSettings()
    for key in table:
        read = _READ.get(key)
        try:
            if read is None:
                raise _unknown(f"{where}.{key}", key, [*_READ])
            said[key] = read(table, f"{where}.{key}")
        except ConfigError as err:
            faults.append(str(err))
    return VesselSettings(**said)


def _style(table: Mapping[str, object], where: str) -> str | None:
    return _text(table, where, 'a style in a few words, such as "perry"')


def _place(table: Mapping[str, object], where: str) -> str:
    return _text(table, where, 'a place, such as "cellar, left"') or ""


def _spare_for(table: Mapping[str, object], where: str) -> str:
    return _text(table, where, 'the name of a jar, such as "plum"') or ""


def _table(parent: Mapping[str, object], where: str, known: Sequence[str]) -> dict[str, object]:
    """The table of that name, empty if missing; any key is allowed if none are listed."""
    table = parent.get(where.removeprefix("vessel."), {})
    if not isinstance(table, dict):
        raise ConfigError(
            f"{_at(where)} is {shown(table)}; write a line [{_short(where)}] and its keys below"
        )
    for key in table:
        if known and key not in known:
            raise _unknown(f"{where}.{key}", key, known)
    return table


def _unknown(where: str, key: str, known: Sequence[str]) -> ConfigError:
    from difflib import get_close_matches  # only needed to say what was meant

    near = get_close_matches(key, known, n=1, cutoff=0.0)[0]
    return ConfigError(f"{_at(where)} is not a known key; the nearest is {near}")


def _number(table: Mapping[str, object], where: str, default: _Default) -> float | _Default:
    key = where.rpartition(".")[2]
    if key not in table:
        return default
    value = table[key]
    why = wrong(key, value)
    if why or not isinstance(value, int | float):
        raise ConfigError(f"{_at(where)} {why}")
    return float(value)


def _moment(table: Mapping[str, object], where: str) -> datetime | None:
    """Read when a vessel was pitched; a date alone is the start of that day."""
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
    """Read the day on which something was seen."""
    value = table.get(where.rpartition(".")[2])
    if value is None or (isinstance(value, date) and not isinstance(value, datetime)):
        return value
    raise _no_date(where, value)


def _no_date(where: str, value: object) -> ConfigError:
    return ConfigError(
        f"{_at(where)} is {shown(value)}; write a date such as 2026-10-01, without quotes"
    )


def _text(table: Mapping[str, object], where: str, wanted: str) -> str | None:
    """Read a few words, trimmed."""
    value = table.get(where.rpartition(".")[2])
    if value is None:
        return None
    if isinstance(value, str) and 0 < len(value.strip()) <= _LONGEST_TEXT and value.isprintable():
        return value.strip()
    raise ConfigError(f"{_at(where)} is {shown(value)}; write {wanted}")


def _instrument(table: Mapping[str, object], where: str) -> Instrument | None:
    value = table.get("brix_by")
    known = next((name for name in INSTRUMENTS if name == value), None)
    if value is not None and known is None:
        ways = " or ".join(f'"{name}"' for name in INSTRUMENTS)
        raise ConfigError(f"{_at(where)} is {shown(value)}; write {ways}")
    return known


# How each key of a vessel is read.
_READ: Final[Mapping[str, Callable[[Mapping[str, object], str], Any]]] = {
    **dict.fromkeys(NUMBERS, lambda table, where: _number(table, where, None)),
    **dict.fromkeys(DAYS_SEEN, _day),
    "pitched": _moment,
    "style": _style,
    "spare_for": _spare_for,
    "brix_by": _instrument,
    "place": _place,
}


def _at(where: str) -> str:
    return f"{FILE_NAME}: {_short(where)}"


def _short(text: str) -> str:
    """Shorten a text for a message: a quoted key may have anything in it."""
    shown = printable(text)
    return shown if len(shown) <= 80 else f"{shown[:77]}..."
