"""Writes the settings of one jar to `bubblerate.toml`; comments, order and line ends stay."""

from __future__ import annotations

import re
import tomllib
from contextlib import suppress
from typing import TYPE_CHECKING, Any

from ..errors import ConfigError
from .csv_rows import naming
from .journal import turn
from .safe_write import made, put
from .settings_file import FILE_NAME, content, settings_of

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from tomlkit import TOMLDocument

    from .settings import VesselSettings

__all__ = ["said_of_another", "say_of"]

_BOM = b"\xef\xbb\xbf"
_ELSEWHERE = f"{FILE_NAME}: is laid out in a way that cannot be changed safely; edit it by hand"


def say_of(folder: Path, vessel: str, said: Mapping[str, float | str | None]) -> VesselSettings:
    """Write the settings of one vessel; the file is created if there is none.

    Parameters
    ----------
    folder : Path
        The shelf; made if missing.
    vessel : str
    said : mapping of str to float, str or None
        Value by key, as named in `VesselSettings`; None removes a key.

    Returns
    -------
    VesselSettings
        The settings as they are now.

    Raises
    ------
    ConfigError
        If the file cannot be read or changed, or a value will not do; then it is unchanged.
    DiaryError
        If another program has locked the folder or changed the file, or it cannot be written.
    """
    path = folder / FILE_NAME
    with naming(path), turn(made(folder) / FILE_NAME) as handle:
        data = content(path)
        if data is not None:
            settings_of(data)  # errors come before anything is changed
        new = _changed(data or b"", vessel, said)
        found = settings_of(new)
        own = [fault for fault in found.faults.get(vessel, ()) if _names(fault, vessel, said)]
        if own:
            raise ConfigError(own[0])
        put(path, new, handle, was=data)
    return found.vessel(vessel)


def said_of_another(
    data: bytes,
    source: str,
    into: str,
    *,
    leave_out: Sequence[str],
    more: Mapping[str, str] | None = None,
) -> bytes | None:
    """Give the text of the file with the settings of one jar copied to another.

    Parameters
    ----------
    data : bytes
        The file as it is.
    source, into : str
        Names of the jars.
    leave_out : sequence of str
        Keys that are only for the first jar.
    more : mapping of str to str, optional
        Further settings of the other.

    Returns
    -------
    bytes or None
        None if there is nothing to copy, or if `into` already has settings.
    """
    if b"vessel" not in data and not more:
        return None
    vessels = tomllib.loads(_parted(data)[1]).get("vessel", {})
    if into in vessels:
        return None
    of_source = vessels.get(source, {})
    told = of_source if isinstance(of_source, dict) else {}
    said = {key: value for key, value in told.items() if key not in leave_out}
    said |= more or {}
    return _changed(data, into, said) if said else None


def _names(fault: str, vessel: str, said: Mapping[str, object]) -> bool:
    return any(fault.startswith(f"{FILE_NAME}: vessel.{vessel}.{key} ") for key in said)


def _parted(data: bytes) -> tuple[bytes, str]:
    """Split off the byte order mark that may come before the text."""
    mark = data[: len(_BOM)] if data.startswith(_BOM) else b""
    return mark, data[len(mark) :].decode()


def _changed(data: bytes, vessel: str, said: Mapping[str, Any]) -> bytes:
    """Bytes of the file with the keys of one vessel set or removed, and all else unchanged."""
    mark, text = _parted(data)
    for way in (_in_place, _at_the_end):
        with suppress(ValueError, KeyError, TypeError, AttributeError):  # a layout it cannot change
            wanted, new = _wanted(tomllib.loads(text), vessel, said), way(text, vessel, said)
            if "\r\n" in text:
                new = re.sub(r"(?<!\r)\n", "\r\n", new)
            if _without_empty(tomllib.loads(new)) == wanted:
                return mark + new.encode()
    raise ConfigError(_ELSEWHERE)


def _in_place(text: str, vessel: str, said: Mapping[str, Any]) -> str:
    """The text with the keys next to the vessel's others, or in a new table."""
    import tomlkit  # only here: unlike the reader, it keeps comments and order

    document = tomlkit.parse(text)
    _put_in(document, vessel, said)
    return tomlkit.dumps(document)


def _at_the_end(text: str, vessel: str, said: Mapping[str, Any]) -> str:
    """The text with a table of the vessel at the end, since others may be in dotted keys."""
    import tomlkit

    vessels = tomlkit.table(is_super_table=True)
    vessels[vessel] = {key: value for key, value in said.items() if value is not None}
    gap = "" if not text or text.endswith("\n") else "\n"
    return f"{text}{gap}\n{tomlkit.dumps({'vessel': vessels})}"


def _put_in(document: TOMLDocument, vessel: str, said: Mapping[str, Any]) -> None:
    import tomlkit
    import tomlkit.items

    if "vessel" not in document:
        document["vessel"] = tomlkit.table(is_super_table=True)
    vessels: Any = document["vessel"]
    begun = vessel not in vessels
    if begun:
        inline = isinstance(vessels, tomlkit.items.InlineTable)
        vessels[vessel] = tomlkit.inline_table() if inline else tomlkit.table()
    own: Any = document["vessel"]
    for key, value in said.items():
        if value is not None:
            own[vessel][key] = value
        elif key in own[vessel]:
            del own[vessel][key]
    if begun and [*document][-1] != "vessel":
        own[vessel].add(tomlkit.nl())


def _wanted(was: dict[str, Any], vessel: str, said: Mapping[str, Any]) -> dict[str, Any]:
    """What a reader should find in the changed file, without empty tables."""
    vessels = was.get("vessel", {})
    own = {**vessels.get(vessel, {}), **said}
    own = {key: value for key, value in own.items() if value is not None}
    return _without_empty({**was, "vessel": {**vessels, vessel: own}})


def _without_empty(root: dict[str, Any]) -> dict[str, Any]:
    """The same without vessels that have no settings: dotted keys leave no empty table."""
    vessels = {name: own for name, own in root.get("vessel", {}).items() if own != {}}
    return {**root, "vessel": vessels}
