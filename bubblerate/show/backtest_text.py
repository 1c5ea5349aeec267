"""Writes a backtest of forecasts: text for people, CSV and JSON for programs; no sums here."""

from __future__ import annotations

import csv
import io
import math
import textwrap
from typing import TYPE_CHECKING, Any

from ..diary.csv_rows import shown_cell
from ..shelf.coverage import FEWEST_VESSELS
from ..text import format_day, format_rate, iso, plain, plural, wrapped
from ..verdict.cautions import HINT

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from datetime import datetime

    from ..shelf.backtest import Evening, LeftOut, Replay
    from ..shelf.coverage import Backtest, LeadRow, Share

__all__ = ["backtest_csv", "backtest_object", "backtest_text", "lead_text", "left_out_text"]

_LONGEST_NAME = 20
_WIDE = 80  # characters needed to show the range of each share in the table
_TIMES = ("low95", "low80", "median", "high80", "high95")
_COLUMNS = (
    "vessel", "at", "fell_at", "lead_days", *_TIMES, "error_days", "width_days", "held80",
    "held95", "go", "early_go",
)  # fmt: skip


def backtest_text(backtest: Backtest, *, width: int) -> str:
    """Write it for a person.

    Parameters
    ----------
    backtest : Backtest
        With at least one vessel replayed.
    width : int
        Characters in a line of words; the tables always need about 60.

    Returns
    -------
    str
        Several lines, no line end after the last.
    """
    rates = {one.quiet_day.threshold_per_min for one in backtest.replays}
    below = format_rate(*rates) if len(rates) == 1 else "its threshold"
    opening = f"The forecast on each evening, and the day each jar was seen to fall below {below}."
    parts = [
        textwrap.fill(opening, width),
        "\n".join(_aligned(list(_vessels(backtest)))),
        "\n".join(_aligned(list(_leads(backtest, reach=width >= _WIDE)), left=1)),
        "\n\n".join("\n".join(wrapped(text, width)) for text in _words(backtest)),
    ]
    if backtest.left_out:
        lines = (left_out_text(one) for one in backtest.left_out)
        broken = (part for line in lines for part in wrapped(line, width, later="  "))
        parts.append("\n".join(["Left out:", *broken]))
    return "\n\n".join(parts)


def left_out_text(one: LeftOut) -> str:
    """Say why one vessel is left out.

    Parameters
    ----------
    one : LeftOut

    Returns
    -------
    str
        One line.
    """
    return f"{one.vessel}: {one.reason.text}"


def lead_text(row: LeadRow) -> str:
    """Write the lead of a row.

    Parameters
    ----------
    row : LeadRow

    Returns
    -------
    str
        Such as "1-3 d", "over 15 d", or "all" for every lead.
    """
    if math.isfinite(row.to_days):
        return f"{row.from_days:.0f}-{row.to_days:.0f} d"
    return f"over {row.from_days:.0f} d" if row.from_days else "all"


def backtest_csv(evenings: Sequence[Evening]) -> str:
    """Write the evenings as CSV (RFC 4180, except for plain line ends), with a header.

    Parameters
    ----------
    evenings : sequence of Evening

    Returns
    -------
    str
        Times in ISO 8601, days as numbers, yes or no; empty if a date is over 60 days ahead.
    """
    out = io.StringIO()
    table = csv.writer(out, lineterminator="\n")
    table.writerow(_COLUMNS)
    for evening in evenings:
        table.writerow([_cell(getattr(evening, name)) for name in _COLUMNS])
    return out.getvalue()


def backtest_object(backtest: Backtest) -> dict[str, Any]:
    """Turn it into an object for JSON.

    Parameters
    ----------
    backtest : Backtest

    Returns
    -------
    dict
        Times in ISO 8601, spans in days; None means more than 60 days.
    """
    return {
        "vessels": [_replay_object(replay) for replay in backtest.replays],
        "by_lead": [_row_object(row) for row in backtest.rows],
        "all": None if backtest.whole is None else _row_object(backtest.whole),
        "left_out": [
            {"vessel": one.vessel, "code": one.reason.code, "text": one.reason.text}
            for one in backtest.left_out
        ],
    }


def _vessels(backtest: Backtest) -> Iterator[tuple[str, ...]]:
    """One line per vessel: the day it fell, the likely range, and how many evenings."""
    yield "jar", "fell", "fell within", "evenings"
    for one in backtest.replays:
        name, day = one.vessel, one.quiet_day
        if len(name) > _LONGEST_NAME:
            name = name[: _LONGEST_NAME - 2] + ".."
        low, high = (format_day(end, year=False) for end in (day.surely_from, day.surely_by))
        yield name, format_day(day.about), f"{low}-{high}", str(len(one.evenings))


def _leads(backtest: Backtest, *, reach: bool) -> Iterator[tuple[str, ...]]:
    """One line per lead, and one for all."""
    yield "lead", "jars", "evenings", "error", "bias", "in 80 %", "in 95 %"
    for row in (*backtest.rows, *([] if backtest.whole is None else [backtest.whole])):
        yield (
            lead_text(row),
            str(row.vessels),
            str(row.evenings),
            _span(row.error_days),
            _span(row.bias_days, signed=True),
            _share(row.held80, reach=reach),
            _share(row.held95, reach=reach),
        )


def _words(backtest: Backtest) -> Iterator[str]:
    """Sum up the tables in words."""
    if backtest.whole is not None:
        yield _verdict(backtest.whole)
    early = [evening for evening in backtest.evenings if evening.early_go]
    if early:
        who = ", ".join(dict.fromkeys(evening.vessel for evening in early))
        evenings = plural(len(early), "evening")
        yield f"It said go for racking on {evenings}, certainly too early ({who})."
    else:
        yield "It never said go for racking on an evening that was certainly too early."
    yield (
        "Lead is the days left until the fall. Error and bias are medians in days; a bias above 0 "
        "means the dates were too late. Every jar counts the same. With many jars the share would "
        "lie within the brackets, at 95 %. The day of the fall comes from the counts alone and is "
        "itself uncertain: an error within its range proves nothing. " + HINT
    )


def _verdict(row: LeadRow) -> str:
    """Say whether the intervals can be trusted, as far as the vessels tell."""
    vessels = plural(row.vessels, "jar")
    if not row.held80.judged:
        return f"{vessels}: too few to judge the intervals; {FEWEST_VESSELS} or more would do."
    return f"Of {vessels}, {_held(row.held80)}; {_held(row.held95)}."


def _held(held: Share) -> str:
    word = "as stated"
    if held.high < held.stated:
        word = "less often than stated"
    elif held.low > held.stated:
        word = "more often than stated"
    return (
        f"the {_percent(held.stated)} % interval held the day on {_percent(held.seen)} % of "
        f"evenings, {word} (with many jars {_percent(held.low)} % to {_percent(held.high)} %)"
    )


def _share(held: Share, *, reach: bool) -> str:
    """How often it held and, in brackets, the range for many vessels."""
    text = f"{_percent(held.seen)} %"
    return f"{text} ({_percent(held.low)}-{_percent(held.high)})" if reach else text


def _percent(share: float) -> str:
    return f"{100.0 * share:.0f}"


def _span(days: float, *, signed: bool = False) -> str:
    if math.isinf(days):
        return "over 60"
    return f"{days:+.1f}" if signed else f"{days:.1f}"


def _aligned(rows: list[tuple[str, ...]], *, left: int = 3) -> Iterator[str]:
    """Align cells in columns, the first few to the left and the rest to the right."""
    widths = [max(len(row[i]) for row in rows) for i in range(len(rows[0]))]
    for row in rows:
        cells = (
            cell.ljust(size) if i < left else cell.rjust(size)
            for i, (cell, size) in enumerate(zip(row, widths, strict=True))
        )
        yield "  ".join(cells).rstrip()


def _cell(value: datetime | float | bool | str | None) -> str:
    if value is None or (isinstance(value, float) and math.isinf(value)):
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, str):
        return shown_cell(value)
    return plain(round(value, 3)) if isinstance(value, float) else iso(value)


def _value(value: datetime | float | bool | None) -> float | bool | str | None:
    if value is None or isinstance(value, bool):
        return value
    if isinstance(value, float):
        return None if math.isinf(value) else value
    return iso(value)


def _row_object(row: LeadRow) -> dict[str, Any]:
    days = ("from_days", "to_days", "error_days", "bias_days", "width_days")
    return {
        "vessels": row.vessels,
        "evenings": row.evenings,
        **{name: _value(getattr(row, name)) for name in days},
        "enough_vessels": row.held80.judged,
        **{
            name: {"share": held.seen, "low": held.low, "high": held.high}
            for name, held in (("held80", row.held80), ("held95", row.held95))
        },
    }


def _replay_object(replay: Replay) -> dict[str, Any]:
    day = replay.quiet_day
    return {
        "vessel": replay.vessel,
        "threshold_per_min": day.threshold_per_min,
        "fell_at": iso(day.about),
        "surely_from": iso(day.surely_from),
        "surely_by": iso(day.surely_by),
        "evenings": [
            {name: _value(getattr(evening, name)) for name in _COLUMNS[1:]}
            for evening in replay.evenings
        ],
    }
