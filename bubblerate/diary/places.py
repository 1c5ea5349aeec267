"""Finds the file of a diary, by the name of the jar or by its path."""

from __future__ import annotations

import os
from contextlib import suppress
from pathlib import Path

from ..errors import InputError
from ..text import as_typed, quoted
from .names import look, why_no_name

__all__ = ["SUFFIX", "check_new", "diary_path", "missing", "shelf_folder", "typed_again"]

SUFFIX = ".csv"

_LONGEST_NAME = 245  # bytes; a file beside it needs some more
_NAMES_SHOWN = 6  # names of a shelf shown if one was not found


def shelf_folder(folder: Path | None) -> Path:
    """Find the folder of diaries: the one given, else from the environment, else the usual one.

    Parameters
    ----------
    folder : Path or None
        The one given; else BUBBLERATE_SHELF, else ~/bubblerate.

    Returns
    -------
    Path
        It need not exist.

    Raises
    ------
    InputError
        If it is a file, or starts with a ~ that cannot be resolved.
    """
    found = _at_home(folder or Path(os.environ.get("BUBBLERATE_SHELF") or "~/bubblerate"))
    if found.exists() and not found.is_dir():
        raise InputError(f"{found} is a file; a shelf is the folder that holds the diaries")
    return found


def diary_path(vessel: str, folder: Path | None) -> Path:
    """Find the path of a diary.

    Parameters
    ----------
    vessel : str
        Name of a jar on the shelf; or a path that ends in .csv, which is used as it is.
    folder : Path or None
        The shelf; see `shelf_folder`.

    Returns
    -------
    Path
        It need not exist.

    Raises
    ------
    InputError
        If no diary can have that name, or `folder` is not a folder.
    """
    if vessel.lower().endswith(SUFFIX):
        path = _at_home(Path(vessel))
        if not path.name.isprintable() or len(os.fsencode(path.name)) > _LONGEST_NAME:
            raise InputError(
                f"{quoted(path.name)} is too long, or has characters that cannot be shown; rename "
                "the file"
            )
        return path
    if why := why_no_name(vessel):
        raise InputError(f"{why}; or give a path ending in {SUFFIX}")
    return shelf_folder(folder) / f"{vessel}{SUFFIX}"


def check_new(path: Path) -> None:
    """Refuse a bad name for a new diary, or one that looks like another beside it.

    Raises
    ------
    InputError
        Says why.
    """
    stems = {other.stem for other in path.parent.glob(f"*{SUFFIX}")}
    if path.stem in stems:
        return  # the writer says if it exists
    if why := why_no_name(path.stem):
        raise InputError(why)
    twin = next((stem for stem in sorted(stems) if look(stem) == look(path.stem)), None)
    if twin is not None:
        raise InputError(f"there is already a diary {twin}; choose another name")


def typed_again(path: Path, command: str, *words: str) -> str:
    """Give a command about a jar to be typed next, with its shelf if that is not the usual one.

    Parameters
    ----------
    path : Path
        Diary of the jar.
    command : str
        Name of the command.
    *words : str
        What follows the name of the jar.

    Returns
    -------
    str
    """
    shelf = ["--shelf", as_typed(path.parent.as_posix())]
    with suppress(InputError, OSError):  # there is no usual shelf, or it may not be looked at
        if path.parent == shelf_folder(None):
            shelf = []
    return " ".join(["bubblerate", command, as_typed(path.stem), *words, *shelf])


def missing(path: Path) -> InputError:
    """Make the error for a missing diary: where it was looked for, which name may be meant.

    Parameters
    ----------
    path : Path
        Where it was looked for.

    Returns
    -------
    InputError
    """
    from difflib import get_close_matches  # only needed to say what was meant

    if path.is_symlink():
        return InputError(f"{path} is a broken link; make it point to a diary, or delete it")
    stems = sorted(p.stem for p in path.parent.glob(f"*{SUFFIX}"))
    alike = {stem.lower(): stem for stem in stems}
    near = get_close_matches(path.stem.lower(), alike, 1)
    where = f"no diary {path.name} in {path.parent}"
    if near:
        return InputError(f"{where}; did you mean {alike[near[0]]}?")
    some = ", ".join(stems[:_NAMES_SHOWN])
    there = f"there are {some}" if stems else "the folder has none"
    if not path.parent.exists():
        there = "there is no such folder"
    return InputError(f"{where} ({there}); start one: {typed_again(path, 'start')}")


def _at_home(path: Path) -> Path:
    """Replace a ~ by the home folder."""
    try:
        return path.expanduser()
    except RuntimeError:
        raise InputError(f"{path}: there is no such home folder; write the full path") from None
