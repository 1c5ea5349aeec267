"""One setting of one jar written into `bubblerate.toml`; all else in it stays as it was.

The library that keeps comments and layout is loaded only here.
"""

from pathlib import Path

from ..errors import ConfigError, DiaryError
from .safe_write import locked, made, put
from .settings_file import FILE_NAME, settings

__all__ = ["set_of_jar"]


def set_of_jar(folder: Path, jar: str, key: str, value: str) -> Path:
    """Set one key of a jar, beginning the file if there is none.

    Parameters
    ----------
    folder : Path
        Of the diaries.
    jar : str
        Name of the jar.
    key, value : str
        Of `VesselSettings`.

    Returns
    -------
    Path
        The file.

    Raises
    ------
    ConfigError
        If the file cannot be read or written, or would no longer be understood; then it is as it
        was.
    """
    import tomlkit
    import tomlkit.items
    from tomlkit.exceptions import TOMLKitError

    path = folder / FILE_NAME
    settings(folder)  # which says what is wrong, if anything is
    try:
        with locked(path) as handle:
            was = path.read_bytes() if path.exists() else None
            root = tomlkit.parse((was or b"").decode("utf-8-sig"))
            jars = root.setdefault("vessel", tomlkit.table(is_super_table=True))
            jars.setdefault(jar, tomlkit.table())[key] = value
            put(made(folder) / FILE_NAME, tomlkit.dumps(root).encode(), handle, was=was)
    except (OSError, DiaryError, TOMLKitError) as err:
        raise ConfigError(f"{FILE_NAME}: cannot be written ({err}); it is unchanged") from err
    return path
