"""Shows what an import would write to a diary, before it is written."""

import textwrap
from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime
from pathlib import Path

from ..diary.dates import Order
from ..diary.sugar_notes import speaks_of_sugar
from ..diary.tables.dates import CLOCK, Orders, Written
from ..diary.tables.headings import Column, Kind
from ..diary.tables.hints import Hint
from ..diary.tables.sheet import Sheet
from ..diary.tables.visits import Entries, Fresh, preferred, roles
from ..diary.visit import Diary
from ..text import format_seconds, format_when, plural, quoted
from .diary_text import visit_text

__all__ = ["preview"]

_MEANINGS: Mapping[Kind, str] = {
    "date": "date",
    "day": "date, or days since pitching",
    "time": "time of day",
    "temp": "temperature of the jar or its room",
    "sample": "temperature of the sample",
    "sg": "gravity",
    "oechsle": "gravity in points above water (Oechsle)",
    "brix": "gravity in Brix or Plato, by hydrometer",
    "refractometer": "Brix by refractometer, not a gravity once there is alcohol",
    "litres": "wine in the jar",
    "pressure": "air pressure, hPa",
    "event": "what you did or saw",
    "note": "note",
    "bottles": "bottles filled",
    "closure": "what closes them",
    "other": "the other jar",
    "sulphite": "sulphite added",
    "sorbate": "sorbate added",
    "finings": "finings added",
    "struck": "struck out as wrong",
}
_MOST_HINTS = 8  # entries shown word for word
_MANY = 5000  # more rows than a person counts
_UNITS = {"": "seconds", "min": "minutes", "?": "time"}


def preview(
    table: Sheet,
    written: Sequence[Written],
    found: Orders,
    order: Order | None,
    said: Entries,
    new: Fresh,
    told: Sequence[Hint],
    diary: Diary | None,
    path: Path,
    *,
    now: datetime,
    width: int,
) -> str:
    """Show what of a table would be written, as what, and what would not.

    Parameters
    ----------
    table : Sheet
    written : sequence of Written
        Its moments as written in the table.
    found : Orders
        Orders in which they can be read.
    order : Order or None
        The one chosen.
    said : Entries
    new : Fresh
    told : sequence of Hint
        Notes that may be events.
    diary : Diary or None
        The diary so far; None if new.
    path : Path
        Of the diary.
    now : datetime
    width : int
        Characters a line may hold.

    Returns
    -------
    str
        Several lines, no line end after the last.
    """
    parts = (
        ("table", _layout(table)),
        ("columns", _meanings(table)),
        ("not used", _unused(table)),
        ("dates", _dating(written, found, order)),
        ("first", [visit_text(visit) for visit in new.visits[:1]]),
        ("last", [visit_text(visit) for visit in new.visits[1:][-1:]]),
        ("left out", _left_out(said, new)),
        ("check", _mind(said, new, diary, now)),
        ("into", [f"{path}{'' if diary else ' (a new diary)'}"]),
        ("may be", _events(told)),
    )
    lines = (line for label, texts in parts for line in _part(label, texts, width))
    head = f"{table.name}: {plural(len(table.body), 'row')} for {path.stem}"
    return "\n".join([head, "", *lines])


def _part(label: str, texts: Sequence[str], width: int) -> Iterator[str]:
    """Lines with one word at the margin."""
    for i, text in enumerate(texts):
        yield textwrap.fill(
            text,
            width,
            initial_indent=f"  {'' if i else label:10}",
            subsequent_indent=" " * 12,
            drop_whitespace=True,
            break_long_words=False,
            break_on_hyphens=False,
        )


def _layout(table: Sheet) -> list[str]:
    above = ", ".join(cell.strip() for row in table.above for cell in row.cells if cell.strip())
    parted = f", separated by {table.separator}" if table.separator else ""
    return [
        f"{table.encoding}{parted}, headings on line {table.head.first}",
        *([f"above that, not used: {quoted(above)}"] if above else []),
    ]


def _meanings(table: Sheet) -> list[str]:
    """Each column used, and its meaning."""
    known = roles(table)
    lines = {c: _meaning(c, known) for c in table.columns if c.kind not in {None, "vessel"}}
    if "date" in known:  # which then only tells the day
        lines = {c: meaning for c, meaning in lines.items() if c.kind != "day"}
    for rivals in preferred(known):
        for kind in rivals[1:]:
            lines[known[kind][0]] += f", where {quoted(known[rivals[0]][0].heading)} is blank"
    widest = max(len(quoted(column.heading)) for column in lines)
    return [f"{quoted(c.heading):{min(widest, 24)}}  {meaning}" for c, meaning in lines.items()]


def _meaning(column: Column, known: Mapping[Kind, Sequence[Column]]) -> str:
    spell = format_seconds(column.spell_s or 60.0)
    match column.kind:
        case "bubbles" if "length" in known:
            return "bubbles counted"
        case "bubbles":
            return f"bubbles in {spell}" + (
                "" if column.spell_s else (", as the table does not say how long")
            )
        case "rate":
            return f"rate: bubbles in {spell}"
        case "spacing":
            return f"{_UNITS[column.unit]} between bubbles"
        case "length":
            return f"{_UNITS[column.unit]} spent counting; 1 min where blank"
        case "temp" | "sample":
            return f"{_MEANINGS[column.kind]}, {column.unit or 'C'}"
        case "litres":
            return f"{_MEANINGS['litres']}, {column.unit or 'litres'}"
        case "added":
            return f"amount added, {column.unit or 'litres'}"
        case "sugar":
            return f"sugar added, {column.unit}"
        case kind:
            return _MEANINGS[kind] if kind else ""


def _unused(table: Sheet) -> list[str]:
    """Columns not used: each with its reason, or all in one line without reasons."""
    dated = any(column.kind == "date" for column in table.columns)
    unused = [
        column
        for column in table.columns
        if column.kind in {None, "vessel"} or (column.kind == "day" and dated)
        if column.heading or any(row.cells[column.index].strip() for row in table.body)
    ]
    lines = [
        (quoted(column.heading) if column.heading else "no heading")
        + (f": {column.why}" if column.why else "")
        for column in unused
    ]
    if any(column.why for column in unused) or not lines:
        return lines
    return [", ".join(lines)]


def _dating(written: Sequence[Written], found: Orders, order: Order | None) -> list[str]:
    lines = []
    shown = found.shown_by
    if order is not None and shown is not None:
        by_row = found.possible == (order,)
        why = f"as line {shown.line} shows ({quoted(shown.text)})" if by_row else "as you say"
        lines.append(f"{order.replace('-', ' ')}, {why}")
    if clockless := sum(day.exact is None and not day.clock for day in written):
        rows = "no row has" if clockless == len(written) else f"{plural(clockless, 'row')} without"
        lines.append(f"{rows} a time of day: saved as {CLOCK}")
    return lines


def _left_out(said: Entries, new: Fresh) -> list[str]:
    lines = []
    if new.known:
        lines.append(f"{plural(new.known, 'row')} already in the diary")
    if new.twice:
        lines.append(f"{plural(new.twice, 'row')} that the table holds twice")
    if said.bare:
        lines.append(
            f"{plural(len(said.bare), 'row')} with only a date, first on line {said.bare[0]}"
        )
    return lines


def _events(told: Sequence[Hint]) -> list[str]:
    """Notes that may be events, the first ones word for word."""
    lines = [
        f"{hint.event}, from the note on line {hint.line}: {quoted(hint.note)}"
        for hint in told[:_MOST_HINTS]
    ]
    more = len(told) - _MOST_HINTS
    more_lines = [f"and {plural(more, 'note')} more"] if more > 0 else []
    advice = ["notes are not events: --events-in-notes turns these into events"]
    return [*lines, *more_lines, *advice] if lines else []


def _mind(said: Entries, new: Fresh, diary: Diary | None, now: datetime) -> list[str]:
    """What the maker should check."""
    lines = []
    if said.dashes:
        dashes = plural(said.dashes, "dash", several="dashes")
        lines.append(f"{dashes} read as not counted, never as none")
    if said.loose:
        lines.append(
            f"{plural(len(said.loose), 'row')} with words that are not an event, kept as a note, "
            f"first on line {said.loose[0]}"
        )
    if sweet := [visit for visit in new.visits if speaks_of_sugar(visit)]:
        lines.append(
            f"{plural(len(sweet), 'note')} that may mention sugar, first on line {sweet[0].line}: "
            "if the jar was fed, write fed as its event, otherwise not-fed"
        )
    if len(new.visits) > _MANY:
        lines.append(
            f"{len(new.visits)} rows look like a sensor's log: --pool 1h makes one row an hour"
        )
    if new.beside:
        lines.append(f"{plural(new.beside, 'row')} at the same moment as others in the diary")
    if late := [visit for visit in new.visits if visit.when > now]:
        lines.append(f"{plural(len(late), 'row')} in the future, first on line {late[0].line}")
    if diary is not None and diary.pitched is not None:
        early = sum(visit.when < diary.pitched for visit in new.visits)
        if early:
            lines.append(f"{plural(early, 'row')} before the start, {format_when(diary.pitched)}")
    if diary is not None and diary.visits:
        last = diary.visits[-1].when
        if older := sum(visit.when < last for visit in new.visits):
            lines.append(
                f"{plural(older, 'row')} older than the last one in the diary "
                f"({format_when(last)}): added below it, but read in order of time"
            )
    return lines
