"""Takes one jar out of a table of several: by a column of names, or by names over columns.

Nothing is guessed: a column that may belong to another jar is left out, and the maker is told.
"""

import re
from collections.abc import Sequence, Set
from dataclasses import replace

from ...errors import InputError
from ...text import quoted
from ..csv_rows import Row
from ..lookalikes import tidied
from .headings import COUNTING, Column, Kind, Meant, columns, leftover, words

__all__ = ["taken", "timed"]

_ANOTHERS = "it may belong to another jar"
_SPELL = re.compile(r"[0-9]+(?:[.,][0-9]+)? ?(?:s|secs?|seconds?|m|mins?|minutes?|h|hours?)")


def taken(
    name: str,
    head: Row,
    above: Sequence[Row],
    found: Sequence[Column],
    body: Sequence[Row],
    jar: str,
    meant: Meant,
) -> tuple[tuple[Column, ...], list[Row]]:
    """Find the columns and rows of one jar.

    Parameters
    ----------
    name : str
        Name of the file, for messages.
    head : Row
        The headings.
    above : sequence of Row
        Rows above them; the last may name the jars.
    found : sequence of Column
    body : sequence of Row
    jar : str
        Its name, as in the table; letter case and extra spaces do not matter.
    meant : mapping
        What the maker said about some columns, which then belong to this jar.

    Returns
    -------
    columns : tuple of Column
    rows : list of Row

    Raises
    ------
    InputError
        If nothing in the table has that name, or a row has no name in the column of names.
    """
    names = next((column for column in found if column.kind == "vessel"), None)
    if names is not None:
        return tuple(found), _rows(name, names, body, jar)
    group = above[-1] if above and above[-1].last == head.first - 1 else None
    if group and jar_key(jar) in {jar_key(cell) for cell in group.cells}:
        return _under(group, found, jar), [*body]
    own = {column.index: one for column in found if (one := _own(column, jar, meant))}
    if not any(index in own and column.kind for index, column in own.items()):
        some = ", ".join(column.heading for column in found if column.heading)
        raise InputError(
            f"{name}: no worksheet, column or row is of {quoted(jar)}; the columns are: {some}"
        )
    kinds = {column.kind for column in own.values()}
    return tuple(own.get(column.index) or _shared(column, kinds) for column in found), [*body]


def jar_key(text: str) -> tuple[str, ...]:
    """Key of a jar's name, so that spaces, signs and letter case do not matter."""
    return tuple(re.findall(r"[^\W_]+", tidied(text)))


def _rows(name: str, names: Column, body: Sequence[Row], jar: str) -> list[Row]:
    nameless = next((row for row in body if not row.cells[names.index].strip()), None)
    if nameless is not None:
        raise InputError(
            f"{name}:{nameless.first}, column {quoted(names.heading)}: is empty; write which jar "
            "this row is for"
        )
    chosen = [row for row in body if jar_key(row.cells[names.index]) == jar_key(jar)]
    if not chosen:
        some = ", ".join(dict.fromkeys(row.cells[names.index].strip() for row in body))
        raise InputError(
            f"{name}: column {quoted(names.heading)} names {quoted(some)}, not {quoted(jar)}"
        )
    return chosen


def _under(group: Row, found: Sequence[Column], jar: str) -> tuple[Column, ...]:
    """Columns under the name of a jar, and those before the first name, which all jars share."""
    names = [cell.strip() for cell in group.cells]
    if sum(map(bool, names)) == 1:  # a title: the whole table is about that jar
        return tuple(found)
    told, last = [], ""
    for column in found:
        last = (names[column.index] if column.index < len(names) else "") or last
        told.append(column if jar_key(last) in {(), jar_key(jar)} else _left(column))
    return tuple(told)


def _own(column: Column, jar: str, meant: Meant) -> Column | None:
    """A column by the rest of its heading, if that names the jar."""
    if tidied(column.heading) in meant:
        return column
    some = [*words(column.heading)]
    key = [word for part in jar_key(jar) for word in words(part)]
    for at in range(len(some) - len(key) + 1):
        after = some[at + len(key) :]
        another = after and after[0].isdigit() and (len(after) < 2 or after[1] not in COUNTING)
        if some[at : at + len(key)] == key and not another:
            [rest] = columns([" ".join([*some[:at], *after])])
            return replace(rest, index=column.index, heading=column.heading)
    return None


def _shared(column: Column, kinds: Set[Kind | None]) -> Column:
    """Column of all jars, such as the date; not one that the jar has of its own, or with a name."""
    if column.kind is None or (column.kind not in kinds and not leftover([*words(column.heading)])):
        return column
    return _left(column)


def _left(column: Column) -> Column:
    return replace(column, kind=None, why=_ANOTHERS) if column.kind else column


def timed(found: Sequence[Column], body: Sequence[Row]) -> tuple[Column, ...]:
    """Columns; one headed Time with values such as "2 min" means how long was counted."""
    dated = any(column.kind in {"date", "day"} for column in found)
    return tuple(_timed(column, body) if dated else column for column in found)


def _timed(column: Column, body: Sequence[Row]) -> Column:
    alone = {*words(column.heading)} <= {"time", *COUNTING}
    if column.kind != "time" or not alone:
        return column
    texts = [tidied(row.cells[column.index]) for row in body if row.cells[column.index].strip()]
    spells = bool(texts) and all(_SPELL.fullmatch(text) for text in texts)
    return replace(column, kind="length", unit="?") if spells else column
