"""Turns numbers, moments and texts into words for people.

Times are in seconds and rates in bubbles a minute; a moment is shown in its own UTC offset.
"""

import re
import shlex
import textwrap
from collections.abc import Sequence
from datetime import date, datetime
from unicodedata import combining, east_asian_width

__all__ = [
    "MONTHS",
    "as_typed",
    "beside",
    "cell_len",
    "format_day",
    "format_rate",
    "format_rates",
    "format_seconds",
    "format_when",
    "html_table",
    "iso",
    "percent",
    "plain",
    "plural",
    "printable",
    "quoted",
    "unbroken",
    "wrapped",
]

_NEXT_TO_NOTHING_PER_MIN = 0.01  # weather alone makes more
# fmt: off
MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September",
    "October", "November", "December",
)
# fmt: on


def printable(text: str) -> str:
    r"""Put a text on one line, with a ? for control codes and anything a screen cannot show.

    Examples
    --------
    >>> print(printable(" red:\x1b[31m\n fig "))
    red:?[31m fig
    """
    return "".join(c if c.isprintable() else "?" for c in " ".join(text.split()))


def quoted(text: str) -> str:
    r"""Quote a text for a message: on one line, not too long, nothing unprintable.

    Examples
    --------
    >>> print(quoted(" 5 \n minutes "))
    "5 minutes"
    """
    line = printable(text)
    return f'"{line}"' if len(line) <= 40 else f'"{line[:37]}..."'


def as_typed(name: str) -> str:
    """Write the name of a jar, or a path, for a shell: in quotes if it has a space.

    Examples
    --------
    >>> print(as_typed("plum"), as_typed("my plum"))
    plum "my plum"
    """
    if re.fullmatch(r"[\w./:-]+", name):
        return name
    return f'"{name}"' if re.fullmatch(r"[\w ./:'-]+", name) else shlex.quote(name)


def html_table(head: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    r"""Make a table for a notebook, with nothing that a page or a screen would obey.

    Examples
    --------
    >>> html_table([], [["why", "<b>\x1b"]])
    '<table><tr><td>why</td><td>&lt;b&gt;?</td></tr></table>'
    """
    from html import escape  # only a notebook needs it

    def row(texts: Sequence[str], cell: str) -> str:
        cells = (f"<{cell}>{escape(printable(text))}</{cell}>" for text in texts)
        return f"<tr>{''.join(cells)}</tr>" if texts else ""

    return f"<table>{row(head, 'th')}{''.join(row(texts, 'td') for texts in rows)}</table>"


def plain(value: float) -> str:
    """Write the shortest decimal that reads back as the same number, without an exponent.

    Examples
    --------
    >>> plain(60.0), plain(1.004), plain(5e-7)
    ('60', '1.004', '0.0000005')
    """
    text = repr(float(value))
    if "e" in text:
        from decimal import Decimal  # hardly ever needed, and slow to load

        text = f"{Decimal(text):f}"
    return text.removesuffix(".0")


def plural(number: int, what: str, *, several: str = "") -> str:
    """Write a number and what it counts; `several` is the plural if it is not just with an s.

    Examples
    --------
    >>> plural(1, "row"), plural(2, "row"), plural(3, "dash", several="dashes")
    ('1 row', '2 rows', '3 dashes')
    """
    return f"{number} {what if number == 1 else several or what + 's'}"


def format_seconds(spell: float) -> str:
    """Write a length of time [s], in whole hours or minutes if possible; `seconds` reads it.

    Examples
    --------
    >>> format_seconds(90.0), format_seconds(300.0), format_seconds(3600.0)
    ('90 s', '5 min', '1 h')
    """
    for size, unit in ((3600.0, "h"), (60.0, "min")):
        if spell >= size and spell % size == 0.0:
            return f"{plain(spell / size)} {unit}"
    return f"{plain(spell)} s"


def format_rate(per_min: float, *, short: bool = False) -> str:
    """Write a rate of bubbling with about two digits; a slow one as the time per bubble.

    Parameters
    ----------
    per_min : float
        Bubbles a minute.
    short : bool
        Short, for the cell of a table.

    Raises
    ------
    ValueError
        If the rate is negative or not a number.

    Examples
    --------
    >>> format_rate(8.0), format_rate(0.25), format_rate(0.05)
    ('8.0 a minute', '0.25 a minute', 'one in 20 min')
    >>> format_rate(8.0, short=True)
    '8.0/min'
    """
    unit = "/min" if short else " a minute"
    if not per_min >= 0.0:
        raise ValueError(f"no such rate: {per_min} bubbles a minute")
    if per_min == 0.0:
        return f"0{unit}"
    if per_min < _NEXT_TO_NOTHING_PER_MIN:
        return f"{'under' if short else 'fewer than'} one in 100 min"
    if per_min < 0.1:
        return f"one in {1.0 / per_min:.0f} min"
    rounded = float(f"{per_min:.2g}")
    decimals = 0 if rounded >= 10.0 else 1 if rounded >= 1.0 else 2
    return f"{per_min:.{decimals}f}{unit}"


def format_rates(low: float, high: float) -> str:
    """Write an 80 % interval of rates.

    Parameters
    ----------
    low, high : float
        Bubbles a minute.

    Returns
    -------
    str
        Such as "80 %: 1.7 to 2.5"; if the lower end is next to nothing, only the upper is given.

    Examples
    --------
    >>> format_rates(1.69, 2.51), format_rates(1e-9, 0.04), format_rates(82.0, 149.0)
    ('80 %: 1.7 to 2.5', '80 %: below 0.04', '80 %: 82 to 150')
    """
    if low < _NEXT_TO_NOTHING_PER_MIN:
        return f"80 %: below {_rounded(max(high, _NEXT_TO_NOTHING_PER_MIN), 1)}"
    return f"80 %: {_rounded(low, 2)} to {_rounded(high, 2)}"


def percent(share: float) -> str:
    """Share of one in whole hundredths.

    Examples
    --------
    >>> percent(0.074)
    '7 %'
    """
    return f"{100.0 * share:.0f} %"


def format_when(when: datetime) -> str:
    """Write date and clock time, in English whatever the machine's language.

    Examples
    --------
    >>> format_when(datetime(2026, 11, 25, 21, 30))
    '25 Nov 2026 21:30'
    """
    return f"{format_day(when)} {when:%H:%M}"


def beside(label: str, text: str, *, width: int, column: int = 11) -> list[str]:
    """Lay out a text at a column, with a word near the margin.

    Examples
    --------
    >>> beside("next", "Count again.", width=40)
    ['  next     Count again.']
    """
    start = f"  {label:<{column - 2}}"
    return wrapped(text, width, first=start, later=" " * len(start))


def wrapped(text: str, width: int, *, first: str = "", later: str = "") -> list[str]:
    """Break a text into lines, but never inside a word or between a number and its percent sign.

    Examples
    --------
    >>> wrapped("Chance that it holds: 80 %.", 24)
    ['Chance that it holds:', '80 %.']
    """
    room = width - len(later)
    words = text.replace(" %", "\u00a0%").split(" ")
    kept = " ".join(w if len(w) <= room else w.replace("\u00a0", " ") for w in words)
    layout = textwrap.TextWrapper(width, initial_indent=first, subsequent_indent=later)
    layout.break_on_hyphens = layout.break_long_words = False  # paths too are to be typed
    return [line.replace("\u00a0", " ") for line in layout.wrap(kept)]


def unbroken(line: str) -> str:
    """Mark a line to type, so that `wrapped` keeps it on one line where there is room.

    Examples
    --------
    >>> wrapped(f"See {unbroken('bubblerate verdict fig --more')}.", 30)
    ['See', 'bubblerate verdict fig --more.']
    """
    return line.replace(" ", "\u00a0")


def cell_len(text: str) -> int:
    """Count the columns of a text on a screen: wide letters take two, combining marks none.

    Examples
    --------
    >>> cell_len("fig"), cell_len("\u6885\u9152")
    (3, 4)
    """
    return sum(0 if combining(c) else 2 if east_asian_width(c) in "WF" else 1 for c in text)


def format_day(when: date, *, day: bool = True, year: bool = True) -> str:
    """Write a calendar day, in English whatever the machine's language.

    Parameters
    ----------
    when : date or datetime
        A moment is shown in its own offset.
    day, year : bool
        Whether these are shown; the month always is.

    Returns
    -------
    str
        Such as "25 Nov 2026", "25 Nov" or "Nov 2026".
    """
    before, after = f"{when.day} " if day else "", f" {when.year}" if year else ""
    return f"{before}{MONTHS[when.month - 1][:3]}{after}"


def iso(when: date) -> str:
    """Write a day, or a moment to the second, in ISO 8601.

    Examples
    --------
    >>> iso(date(2026, 11, 25)), iso(datetime(2026, 11, 25, 21, 30, 5, 123456))
    ('2026-11-25', '2026-11-25T21:30:05')
    """
    return when.isoformat(timespec="seconds") if isinstance(when, datetime) else when.isoformat()


def _rounded(value: float, digits: int) -> str:
    """Write a number with so many digits, without an exponent."""
    return plain(float(f"{value:.{digits}g}"))
