"""Turns a diary into a pandas table, and back; pandas is loaded only when needed.

Moments are UTC in the table; times in seconds, temperatures in Celsius, volumes in litres.
"""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

from ..errors import DiaryError, InputError
from . import times

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    import pandas as pd

__all__ = ["framed", "unframed"]

_TEXTS = {"note", "struck", "bottles", "other", "finings_amount"}


def framed(
    columns: Mapping[str, Sequence[Any]], words: Mapping[str, Sequence[str]], lines: Sequence[int]
) -> pd.DataFrame:
    """Make a table of the values of visits.

    Parameters
    ----------
    columns : mapping of str to sequence
        Values of each column of a diary, None if nothing was noted.
    words : mapping of str to sequence of str
        Allowed words in the columns of words.
    lines : sequence of int
        Line on which each row starts in its file.

    Returns
    -------
    DataFrame
        `when` as datetime64 in UTC, `bubbles` as Int64, words as category, texts as string, and
        all other columns as float64; the index is `line`.
    """
    import pandas as pd

    def column(name: str, values: Sequence[Any]) -> Any:
        if name == "when":
            moments = [when.astimezone(UTC).replace(tzinfo=None) for when in values]
            return pd.DatetimeIndex(moments, dtype="datetime64[us]").tz_localize("UTC")
        if name in words:
            told = [None if value is None else str(value) for value in values]
            return pd.Categorical(told, categories=[str(word) for word in words[name]])
        dtype = "Int64" if name == "bubbles" else "string" if name in _TEXTS else "float64"
        return pd.Series(values, dtype=dtype).array

    made = {name: column(name, values) for name, values in columns.items()}
    return pd.DataFrame(made, index=pd.Index([*lines], dtype="int64", name="line"))


def unframed(
    frame: pd.DataFrame, vessel: str, names: Sequence[str]
) -> Iterator[tuple[str, dict[str, Any]]]:
    """Give the values of the visits in a table.

    Parameters
    ----------
    frame : DataFrame
        With a column `when`, and any other of a diary; anything else is ignored.
    vessel : str
        For messages.
    names : sequence of str
        Columns of a diary.

    Yields
    ------
    where : str
        The row, for messages.
    values : dict
        By column; only filled ones.

    Raises
    ------
    DiaryError
        If it has no such columns, or a value is of the wrong kind.
    """
    import pandas as pd

    if not isinstance(frame, pd.DataFrame):
        raise DiaryError(
            f"{vessel}: is not a DataFrame but {type(frame).__name__}; give a DataFrame"
        )
    if "when" not in frame.columns:
        raise DiaryError(f"{vessel}: has no column when; add one with the time of each visit")
    if not frame.columns.is_unique:
        raise DiaryError(f"{vessel}: a column appears twice; rename one of them")
    known = [name for name in names if name in frame.columns]
    values = zip(*(frame[name].tolist() for name in known), strict=True)
    for row, cells in enumerate(values):
        where = f"{vessel}: iloc[{row}]"
        filled = {n: cell for n, cell in zip(known, cells, strict=True) if not pd.isna(cell)}
        if "when" not in filled:
            raise DiaryError(f"{where}: when is empty; fill it, or drop the row")
        yield where, {name: _value(where, name, cell) for name, cell in filled.items()}


def _value(where: str, name: str, cell: Any) -> Any:
    """A value in the form of a visit."""
    if name == "when":
        return _moment(where, cell)
    if name in _TEXTS or isinstance(cell, str):
        if not isinstance(cell, str) or (name not in _TEXTS and name not in {"event", "closure"}):
            raise DiaryError(f"{where}: {name} is {cell!r}; give a column of another type")
        return cell
    if isinstance(cell, bool) or not hasattr(cell, "__float__"):
        raise DiaryError(f"{where}: {name} is {cell!r}; give a number")
    number = float(cell)
    return int(number) if name == "bubbles" and number.is_integer() else number


def _moment(where: str, cell: Any) -> datetime:
    """Moment of a cell; without an offset it is local time, as in a diary."""
    try:
        if isinstance(cell, str):
            return times.instant(cell)
        when = cell.floor("us").to_pydatetime() if hasattr(cell, "to_pydatetime") else cell
        if isinstance(when, datetime):
            return when if when.tzinfo else when.astimezone()
    except (InputError, ValueError, OverflowError):
        pass
    raise DiaryError(f"{where}: when is {cell!r}; give a time such as 2026-11-24T21:00")
