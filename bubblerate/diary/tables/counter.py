"""Reads the log of a bubble-counting machine, pooled into about one row per hour.

pandas reads a million rows at once, and is loaded only here. Only counts, temperature and pressure
are used.
"""

import io
import warnings
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from ...errors import InputError
from ...text import format_seconds, format_when, quoted
from ..number import NUMBERS
from ..visit import Visit
from .headings import Column, Kind, Meant
from .sheet import Sheet, sheet

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["MOST_BYTES", "Log", "log"]

MOST_BYTES = 512_000_000  # a count every three seconds of half a year
_HEAD_BYTES = 20_000  # bytes of the log that show its separator and headings
_MARKS = {"commas": ",", "semicolons": ";", "tabs": "\t"}
_USED: tuple[Kind, ...] = ("date", "time", "bubbles", "rate", "length", "temp", "pressure")
_GAP = 3.0  # times the usual step: in a longer gap the machine was off


@dataclass(frozen=True, slots=True, kw_only=True)
class Log:
    """What a log says: rows in order of time, one for each finished spell."""

    visits: tuple[Visit, ...]
    rows: int  # of the log
    step_s: float  # usual time from row to row
    every_s: float
    unfinished: int  # rows of the last spell, which is unfinished
    columns: Mapping[Kind, str]  # heading for each kind of value


def log(name: str, data: bytes, *, every_s: float, meant: Meant | None = None) -> Log:
    """Pool the log of a counter.

    Parameters
    ----------
    name : str
        Name of the file, for messages.
    data : bytes
        CSV with commas, semicolons or tabs, in UTF-8: each row has a moment in ISO 8601 (local time
        unless it has an offset) and a count. A count without a length lasted since the row before.
    every_s : float
        Length of a spell [s]; each ends at a multiple of it after midnight, UTC.
    meant : mapping, optional
        What columns mean, as for `sheet`.

    Returns
    -------
    Log
        The row of a spell is at its end, so that importing the same log again, or a longer one,
        gives the same rows.

    Raises
    ------
    InputError
        If it is no such log; names file, line, column, what was found and what would do.
    """
    if len(data) > MOST_BYTES:
        raise InputError(f"{name} is larger than 512 MB; import it in parts")
    cut = data.rfind(b"\n", 0, _HEAD_BYTES) + 1 if len(data) > _HEAD_BYTES else len(data)
    top = sheet(name, data[: cut or len(data)], meant=meant)
    used = _columns(top)
    table = _table(name, data, top)
    values = _values(name, table, top, used)
    if len(values) and (step_s := float(values["step"].min())) > every_s:
        raise InputError(
            f"{name}: its rows are {format_seconds(step_s)} apart, further apart than "
            f"{format_seconds(every_s)}; leave --pool out, or make it longer"
        )
    return _pooled(name, values, every_s, {kind: one.heading for kind, one in used.items()})


def _columns(top: Sheet) -> dict[Kind, Column]:
    found: dict[Kind, Column] = {}
    for column in top.columns:
        if column.kind is None or column.kind == "vessel":
            continue
        if column.kind not in _USED or column.kind in found:
            raise InputError(
                f"{top.name}: column {quoted(column.heading)} does not belong in a sensor's log; "
                "delete it, or leave --pool out"
            )
        found[column.kind] = column
    counts = [kind for kind in ("bubbles", "rate") if kind in found]
    if "date" not in found or len(counts) != 1:
        raise InputError(
            f"{top.name}: a sensor's log needs one column of times and one of counts; name them "
            "When and Bubbles, or use --column"
        )
    return found


def _table(name: str, data: bytes, top: Sheet) -> "pd.DataFrame":
    import pandas as pd

    names = range(len(top.columns) + 1)  # one more, for cells without a heading
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", pd.errors.ParserWarning)  # of cells it would leave out
            table = pd.read_csv(
                io.BytesIO(data),
                sep=_MARKS.get(top.separator, ","),
                skiprows=top.head.last,
                header=None,
                index_col=False,
                names=[*names],
                dtype=str,
                keep_default_na=False,
                skip_blank_lines=False,
                encoding="utf-8-sig",
            )
    except (ValueError, pd.errors.ParserError, pd.errors.ParserWarning) as err:
        raise InputError(f"{name}: is no even table ({' '.join(str(err).split())})") from None
    table = table.fillna("")
    beyond = table.iloc[:, -1] != ""
    if beyond.any():
        line = top.head.last + 1 + int(beyond.index[beyond][0])
        raise InputError(f"{name}:{line}: has more cells than there are headings; correct it")
    return table


def _values(
    name: str, table: "pd.DataFrame", top: Sheet, used: Mapping[Kind, Column]
) -> "pd.DataFrame":
    """Moments in UTC, bubbles, seconds, and what else is there, in order of time."""
    import pandas as pd

    texts = {kind: table[column.index].str.strip() for kind, column in used.items()}
    blank = (pd.DataFrame(texts) == "").all(axis=1)
    texts = {kind: column[~blank] for kind, column in texts.items()}
    place = _Place(name, top, used)
    days = texts["date"] + (" " + texts["time"] if "time" in texts else "")
    values = pd.DataFrame({"when": _moments(place, days)})
    for kind in (kind for kind in _USED if kind in texts and kind not in {"date", "time"}):
        values[kind] = _numbers(place, kind, texts[kind])
    values = values.sort_values("when", kind="stable").drop_duplicates()
    steps = values["when"].diff().dt.total_seconds()
    usual = float(steps[steps > 0.0].median()) if (steps > 0.0).any() else 60.0
    values["step"] = steps.where((steps > 0.0) & (steps <= _GAP * usual), usual)
    return _timed(values, used).assign(usual=usual)


def _timed(values: "pd.DataFrame", used: Mapping[Kind, Column]) -> "pd.DataFrame":
    """The same with bubbles and their seconds, in whatever form the log has them."""
    if "length" in used:
        unit = 60.0 if used["length"].unit == "min" else 1.0
        seconds = values["length"] * unit
    else:
        spell = used["bubbles"].spell_s if "bubbles" in used else None
        seconds = values["step"] if spell is None else values["step"] * 0.0 + spell
    counts = values.get("bubbles")
    if counts is None:
        counts = values["rate"] * seconds / (used["rate"].spell_s or 60.0)
    return values.assign(bubbles=counts, seconds=seconds)


@dataclass(frozen=True, slots=True)
class _Place:
    """Names a place in the log."""

    name: str
    top: Sheet
    used: Mapping[Kind, Column]

    def refusal(self, row: int, kind: Kind, text: str, wanted: str) -> InputError:
        line = self.top.head.last + 1 + row
        heading = quoted(self.used[kind].heading)
        where = f"{self.name}:{line}, column {heading}"
        return InputError(f"{where}: cannot read {quoted(text)}; write {wanted}")


def _moments(place: _Place, texts: "pd.Series[str]") -> "pd.Series[Any]":
    import pandas as pd

    from ..times import instant

    found = pd.to_datetime(texts, format="ISO8601", errors="coerce", utc=True)
    if found.isna().any():
        row = int(found.index[found.isna()][0])
        raise place.refusal(row, "date", texts[row], "a time like 2026-11-24T21:00:05")
    if len(texts) and not texts.str.contains(r"(?:Z|[+-]\d\d:?\d\d)$").all():
        zone = instant(str(texts.iloc[0])[:10]).tzinfo  # local time, as on its first day
        bare = pd.to_datetime(texts, format="ISO8601", utc=True).dt.tz_localize(None)
        found = bare.dt.tz_localize(zone).dt.tz_convert("UTC")
    return found


def _numbers(place: _Place, kind: Kind, texts: "pd.Series[str]") -> "pd.Series[float]":
    import pandas as pd

    column = place.used[kind]
    bare = texts.str.replace(",", ".", regex=False)
    found = pd.to_numeric(bare, errors="coerce").astype("float64")
    if kind == "temp" and column.unit == "F":
        found = (found - 32.0) / 1.8
    names = {"bubbles": "bubbles", "rate": "bubbles", "length": "seconds", "temp": "temp_c"}
    limits = NUMBERS[names.get(kind, "pressure_hpa")]
    may_be_blank = kind in {"temp", "pressure"}
    low = 0.0 if kind == "length" else limits.low
    wrong = ~found.between(low, limits.high) & ~(texts.eq("") & may_be_blank)
    if wrong.any():
        row = int(found.index[wrong][0])
        raise place.refusal(row, kind, texts[row], limits.wanted)
    return found


def _pooled(name: str, values: "pd.DataFrame", every_s: float, columns: Mapping[Kind, str]) -> Log:
    import pandas as pd

    every = pd.Timedelta(seconds=every_s)
    # a count belongs to the spell in which it ended
    ends = values["when"].dt.ceil(every) if len(values) else values["when"]
    last = values["when"].max()
    over = ends <= last
    groups = values[over].groupby(ends[over])
    counts = groups[["bubbles", "seconds"]].sum()
    most = NUMBERS["bubbles"].high
    if (beyond := counts["bubbles"] > most).any():
        end = counts.index[beyond][0].to_pydatetime().astimezone()
        raise InputError(
            f"{name}: more than {most:.0f} bubbles in the spell to {format_when(end)}; check the "
            "column of counts, or pool shorter spells"
        )
    beside = groups[[kind for kind in ("temp", "pressure") if kind in values]].mean()
    visits = [
        Visit(
            when=end.to_pydatetime().astimezone(),
            bubbles=round(bubbles),
            seconds=min(max(round(seconds, 1), 1.0), 86_400.0),
            temp_c=_told(beside, "temp", end),
            pressure_hpa=_told(beside, "pressure", end),
            line=0,
        )
        for end, bubbles, seconds in counts.itertuples()
    ]
    return Log(
        visits=tuple(visits),
        rows=len(values),
        step_s=float(values["usual"].iloc[0]) if len(values) else 0.0,
        every_s=every_s,
        unfinished=int((~over).sum()),
        columns=columns,
    )


def _told(beside: "pd.DataFrame", kind: str, end: Any) -> float | None:
    value = beside.loc[end, kind] if kind in beside else None
    return None if value is None or value != value else round(float(value), 1)
