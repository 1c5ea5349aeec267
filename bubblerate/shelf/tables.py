"""Reads many vessels from one long table: CSV, Parquet or a pandas DataFrame.

A table has the columns of a diary and one more, `vessel`; its cells are read by the same rules as a
diary's, whatever types the table has. Results go back as tables in `many`.
"""

from __future__ import annotations

import csv
from datetime import date, datetime
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from ..diary.csv_rows import Row, naming
from ..diary.folder import Unread
from ..diary.reading import of_columns, of_rows
from ..diary.visit import COLUMNS, Diary
from ..errors import DiaryError, InputError
from ..text import printable, quoted

if TYPE_CHECKING:
    from collections.abc import Iterator

    from ..diary.settings import Settings

__all__ = ["read_table", "vessels"]

_KNOWN = ("day", *COLUMNS)
_PARQUET = {".parquet", ".pq"}
_BROKEN = "\0no text"  # marks a cell that cannot be read from the table
_MOST_COLUMNS = 1000
_LONGEST_LINE = 1_000_000  # characters in the header and the first row


def read_table(path: Path | str) -> pd.DataFrame:
    r"""Read a long table of many vessels.

    For a database, use ``pandas.read_sql(query, connection)`` instead.

    Parameters
    ----------
    path : Path or str
        CSV (UTF-8), or Parquet if the name ends in .parquet or .pq.

    Returns
    -------
    DataFrame
        Columns as in the file; cells of a CSV file as their text, and blank if a row ends early.

    Raises
    ------
    DiaryError
        If the file cannot be read as such a table.
    InputError
        If it is Parquet and the library for it is not installed.

    Examples
    --------
    >>> from tempfile import mkdtemp
    >>> path = Path(mkdtemp()) / "cellar.csv"
    >>> _ = path.write_text("vessel,when,bubbles\nfig,2026-10-02,9\nplum,2026-10-02,30\n")
    >>> read_table(path)["bubbles"].tolist()
    ['9', '30']
    """
    path = Path(path)
    with naming(path):
        try:
            if path.suffix.lower() in _PARQUET:
                return _parquet(path)
            _refuse_misshapen(path)
            return pd.read_csv(path, dtype=str, keep_default_na=False, encoding="utf-8-sig")
        except ImportError:
            raise InputError(
                'Parquet needs one more library: python3 -m pip install "bubblerate[parquet]"'
            ) from None
        except (ValueError, csv.Error) as err:  # raised for a file of another kind
            raise _no_table(path, err) from None


def vessels(
    table: pd.DataFrame, *, settings: Settings | None = None, name: str = "table"
) -> Iterator[Diary | Unread]:
    """Split a long table into the diaries of its vessels, one after another.

    Parameters
    ----------
    table : DataFrame
        Column `vessel`, and those of a diary: `when` or `day`, `bubbles`, ...; others are ignored.
        Rows may be in any order.
    settings : Settings, optional
        For when a vessel was pitched, if the table has day numbers.
    name : str
        Name of the table in messages.

    Yields
    ------
    Diary or Unread
        In the order of first appearance. A vessel with a cell that cannot be understood is
        `Unread`, with the message as for a diary and the row as a spreadsheet counts it.

    Raises
    ------
    DiaryError
        If the columns are not those of such a table, or a row names no vessel.

    Examples
    --------
    >>> table = pd.DataFrame(
    ...     {"vessel": ["fig", "plum", "fig"], "when": "2026-10-01", "bubbles": [9, 30, 8]}
    ... )
    >>> [(diary.vessel, len(diary.visits)) for diary in vessels(table)]
    [('fig', 2), ('plum', 1)]
    """
    path, now = Path(name), datetime.now().astimezone()
    table = _by_name(table, name)
    jar = np.asarray(_texts(table["vessel"]), dtype=object)
    nameless = np.flatnonzero(jar == "")
    broken = np.flatnonzero(jar == _BROKEN)
    if len(broken):  # nobody can know whose row it is, and no jar may lose one
        raise DiaryError(f"{name}:{broken[0] + 2}: vessel is not text; save the table again")
    if len(nameless):
        raise DiaryError(f"{name}:{nameless[0] + 2}: vessel is empty; name the jar of this row")
    names = [column for column in table.columns if column in _KNOWN]
    columns = [np.asarray(_texts(table[column]), dtype=object) for column in names]
    for vessel, places in pd.Series(jar).groupby(jar, sort=False).indices.items():
        of_jar = [column[places].tolist() for column in columns]
        lines = (np.asarray(places) + 2).tolist()
        if not str(vessel).isprintable():
            shown = printable(str(vessel))
            error = f"{name}:{places[0] + 2}: the name of {shown} cannot be shown; rename it"
            yield Unread(vessel=shown, error=error)
            continue
        torn = [column.index(_BROKEN) for column in of_jar if _BROKEN in column]
        if torn:
            error = f"{name}:{lines[min(torn)]}: a cell is not text; save the table again"
            yield Unread(vessel=str(vessel), error=error)
            continue
        if diary := of_columns(path, str(vessel), names, of_jar, lines):
            yield diary
            continue
        pitched = None if settings is None else settings.vessel(str(vessel)).pitched
        body = (
            Row(line, line, list(row))
            for line, row in zip(lines, zip(*of_jar, strict=True), strict=True)
        )
        try:
            yield of_rows(path, str(vessel), names, body, pitched=pitched, now=now)
        except DiaryError as err:
            yield Unread(vessel=str(vessel), error=printable(str(err)))


def _parquet(path: Path) -> pd.DataFrame:
    try:
        return pd.read_parquet(path)
    except ImportError:
        raise
    except Exception as err:  # for a damaged file the library raises anything
        if isinstance(err, OSError) and err.errno is not None:  # else the disk is not the cause
            raise
        raise _no_table(path, err) from None


def _no_table(path: Path, err: Exception) -> DiaryError:
    reason = printable(str(err)) or type(err).__name__
    return DiaryError(f"{path.name}: cannot be read as a table ({reason}); save it again")


def _refuse_misshapen(path: Path) -> None:
    """Refuse a table whose first row pandas would take for an index, or that is far too wide."""
    with path.open(encoding="utf-8-sig", newline="") as file:
        lines = iter(lambda: file.readline(_LONGEST_LINE), "")
        head, first = [*islice(filter(None, csv.reader(lines)), 2), [], []][:2]
    if len(first) > len(head):
        raise DiaryError(f"{path.name}:2: has more cells than the header; name every column")
    if len(head) > _MOST_COLUMNS:
        raise DiaryError(f"{path.name}:1: has {len(head)} columns; keep those of a diary")


def _by_name(table: pd.DataFrame, name: str) -> pd.DataFrame:
    """The table with tidy column names, after checking that it has vessels."""
    tidy = [str(column).strip().lower() for column in table.columns]
    ours = ("vessel", *_KNOWN)
    twice = next((column for column in tidy if column in ours and tidy.count(column) > 1), None)
    if twice:
        raise DiaryError(f'{name}: column "{twice}" appears twice; rename one of them')
    if "vessel" not in tidy or not {"when", "day"} & {*tidy}:
        raise DiaryError(
            f"{name}: has the columns {quoted(', '.join(tidy))}; it needs vessel, and when or day"
        )
    return table.set_axis(tidy, axis="columns")


def _texts(column: pd.Series) -> list[str]:
    """Cells of a column in the form of a diary."""
    try:
        if pd.api.types.is_string_dtype(column) and not column.hasnans:
            return column.str.strip().tolist()
        return [_text(cell) for cell in column.tolist()]
    except Exception:  # noqa: BLE001 - of one broken cell; which one is found out here
        return [_text_or_broken(column, row) for row in range(len(column))]


def _text_or_broken(column: pd.Series, row: int) -> str:
    try:
        return _text(column.iloc[row])
    except Exception:  # noqa: BLE001 - a library's own, of bytes that are no text
        return _BROKEN


def _text(cell: object) -> str:
    if isinstance(cell, str):
        return cell.strip()
    if cell is None or cell is pd.NA or cell is pd.NaT or cell != cell or cell is False:
        return ""
    if isinstance(cell, datetime | date):
        return cell.isoformat()
    if isinstance(cell, float) and cell.is_integer():
        return str(int(cell))
    return str(cell)
