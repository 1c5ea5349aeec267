"""Writing in `bubblerate.toml` what is said of one jar: comments, order and line ends stay."""

from __future__ import annotations

import re
import tomllib
from typing import TYPE_CHECKING, Any

from ..errors import ConfigError
from .csv_rows import naming
from .journal import turn
from .safe_write import put
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
    """Write what is said of one vessel; the file is begun if there is none.

    Parameters
    ----------
    folder : Path
        The shelf, which exists.
    vessel : str
    said : mapping of str to float, str or None
        Value by key, as `VesselSettings` names them; None takes a key out.

    Returns
    -------
    VesselSettings
        What stands there now.

    Raises
    ------
    ConfigError
        If the file cannot be read or changed, or a value will not do; then it is unchanged.
    DiaryError
        If another program holds the folder or changed the file, or it cannot be written.
    """
    path = folder / FILE_NAME
    with naming(path), turn(path) as handle:
        data = content(path)
        if data is not None:
            settings_of(data)  # what is amiss is said before anything is touched
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
    """Text of the file with what is said of one jar said of another too.

    Parameters
    ----------
    data : bytes
        The file as it is.
    source, into : str
        Names of the jars.
    leave_out : sequence of str
        Keys that hold for the one jar alone.
    more : mapping of str to str, optional
        What is said of the other beside it.

    Returns
    -------
    bytes or None
        None where there is nothing to say, or something is said of `into` already.
    """
    if b"vessel" not in data and not more:
        return None
    import tomlkit

    root = tomlkit.parse(data.decode("utf-8-sig"))
    vessels: Any = root.setdefault("vessel", tomlkit.table(is_super_table=True))
    if into in vessels:
        return None
    of_source = vessels.get(source, {})
    said = {key: value for key, value in of_source.items() if key not in leave_out}
    said |= more or {}
    if not said:
        return None
    table = tomlkit.table()
    table.update(said)
    table.add(tomlkit.nl())
    vessels[into] = table
    return tomlkit.dumps(root).encode()


def _names(fault: str, vessel: str, said: Mapping[str, object]) -> bool:
    return any(fault.startswith(f"{FILE_NAME}: vessel.{vessel}.{key} ") for key in said)


def _changed(data: bytes, vessel: str, said: Mapping[str, float | str | None]) -> bytes:
    """Bytes of the file with the keys of one vessel set or taken out, and all else as it was."""
    import tomlkit  # only here: it keeps comments and order, which the reader does not

    mark, text = data[: len(_BOM)], data.removeprefix(_BOM).decode()
    try:
        document = tomlkit.parse(text)
        _put_in(document, vessel, said)
        new = tomlkit.dumps(document)
    except (ValueError, KeyError, TypeError, AttributeError):  # a layout it has no way to change
        raise ConfigError(_ELSEWHERE) from None
    if "\r\n" in text:
        new = re.sub(r"(?<!\r)\n", "\r\n", new)
    if tomllib.loads(new) != _wanted(tomllib.loads(text), vessel, said):
        raise ConfigError(_ELSEWHERE)
    return (mark if mark == _BOM else b"") + new.encode()


def _put_in(document: TOMLDocument, vessel: str, said: Mapping[str, float | str | None]) -> None:
    import tomlkit

    if "vessel" not in document:
        document["vessel"] = tomlkit.table(is_super_table=True)
    vessels: Any = document["vessel"]
    begun = vessel not in vessels
    if begun:
        vessels[vessel] = tomlkit.table()
    own: Any = document["vessel"]
    for key, value in said.items():
        if value is not None:
            own[vessel][key] = value
        elif key in own[vessel]:
            del own[vessel][key]
    if begun and [*document][-1] != "vessel":
        own[vessel].add(tomlkit.nl())


def _wanted(
    was: dict[str, Any], vessel: str, said: Mapping[str, float | str | None]
) -> dict[str, Any]:
    """What a reader is to find in the changed file."""
    vessels = was.get("vessel", {})
    own = {**vessels.get(vessel, {}), **said}
    own = {key: value for key, value in own.items() if value is not None}
    return {**was, "vessel": {**vessels, vessel: own}}
