"""Works out what each column of somebody's table means, from its heading.

Letter case, spaces, brackets and degree signs do not matter. A heading that could mean two things
is not used, and the maker is told.
"""

import re
from collections.abc import Iterator, Mapping, Sequence, Set
from dataclasses import dataclass, replace
from typing import Literal, NamedTuple

from ..lookalikes import tidied
from .tongues import english

__all__ = [
    "COUNTING",
    "Column",
    "Found",
    "Kind",
    "Meant",
    "columns",
    "is_head",
    "leftover",
    "words",
]

# fmt: off
Kind = Literal[
    "date", "day", "time", "bubbles", "rate", "spacing", "length", "temp", "sample", "sg",
    "oechsle", "brix", "refractometer", "litres", "pressure", "event", "note", "struck", "vessel",
    "added", "sugar", "bottles", "closure", "other", "sulphite", "sorbate", "finings",
]
# fmt: on

_MOMENTS: frozenset[Kind] = frozenset({"date", "day", "time"})
_SAYS_NOTHING_ALONE: frozenset[Kind] = _MOMENTS | {"length", "struck", "vessel"}
_MOST_WORDS = 6  # a longer cell is a sentence, not a heading

_BUBBLE = {"bubble", "bubbles", "count", "counts", "tally", "tallies", "airlock"}
_SECOND = {"s", "sec", "secs", "second", "seconds"}
_MINUTE = {"min", "mins", "minute", "minutes"}
_SECONDS_PER = {
    **dict.fromkeys(_SECOND, 1.0),
    **dict.fromkeys(_MINUTE, 60.0),
    **dict.fromkeys(("h", "hr", "hour", "hours"), 3600.0),
}
_NUMBER = r"[0-9]+(?:[.,][0-9]+)?"
_SPELL = rf"(?:({_NUMBER}) |one |a )?({'|'.join(_SECONDS_PER)})\b"
_RATE = re.compile(rf"\b(?:per|every) {_SPELL}|\ba (?:()min(?:ute)?)\b")
_IN = re.compile(rf"\b(?:in|over|for) {_SPELL}|({_NUMBER}) ({'|'.join(_SECONDS_PER)})\b")
_ONE_BUBBLE = re.compile(
    r"\b(?:per|between|each|for) (?:(?:one|each|a|two) )?(?:bubbles?|blips?)\b"
)
COUNTING = {
    *("count", "counts", "counted", "counting", "time", "timed", "over", "length", "duration"),
    *("of", "for", "the", "in"),
}

_TEMP = {"temp", "temps", "temperature", "temperatures", "celsius", "centigrade", "fahrenheit"}
_TEMP |= {"degc", "degf"}
_FAHRENHEIT = {"f", "fahrenheit", "degf"}
_WHERE_WARM = {
    *("deg", "degrees", "room", "air", "jar", "must", "wine", "sample", "cellar", "cupboard"),
    *("shed", "kitchen", "ambient"),
}
_GRAVITY = {"sg", "gravity", "gravities", "hydrometer", "reading", "readings"}
_BRIX = {"brix", "bx", "plato", "balling"}
_OECHSLE = {"oechsle", "\N{LATIN SMALL LETTER O WITH DIAERESIS}chsle", "oe", "points"}
_NOT_AS_READ = {
    *("corrected", "adjusted", "target", "expected", "estimated", "original", "og", "fg", "final"),
    *("start", "starting", "drop", "change", "loss", "potential", "per"),
}
_LITRES = {"litre", "litres", "liter", "liters", "l", "ltr", "volume", "vol", "ml", "cl"}
_GALLONS = {"gallon", "gallons", "gal", "gals"}
_NOT_IN_VESSEL = {
    *("%", "alc", "alcohol", "abv", "sample", "lost", "loss", "added", "removed", "headspace"),
    *("sugar", "gas", "per", "bubble"),
}
_SUGAR_UNITS = {
    **dict.fromkeys(("g", "gram", "grams"), "g"),
    **dict.fromkeys(("kg", "kilo", "kilos"), "kg"),
    **dict.fromkeys(("oz", "ounce", "ounces"), "oz"),
    **dict.fromkeys(("lb", "lbs", "pound", "pounds"), "lb"),
}
_WEIGHED: Mapping[str, Kind] = {
    "sugar": "sugar", "sulphite": "sulphite", "sulfite": "sulphite", "sorbate": "sorbate"
}  # fmt: skip
_EXTREME = {"min", "max", "minimum", "maximum", "high", "low", "target", "outside"}

_WORDS: Mapping[Kind, set[str]] = {
    "event": {"event", "events", "action", "actions", "done", "did", "activity", "what", "step"},
    "note": {"note", "notes", "comment", "comments", "remark", "remarks", "observations"},
    "pressure": {"hpa", "mbar", "barometer", "pressure"},
    "date": {"when", "date", "dates", "datetime", "timestamp"},
    "day": {"day", "days"},
    "time": {"time", "clock", "hour"},
    "bottles": {"bottles"},
    "closure": {"closure", "closures"},
    "other": {"other"},
    "vessel": {"jar", "vessel", "demijohn", "batch", "wine", "bucket", "jug", "fermenter"},
}
_KNOWN = {
    *_BUBBLE, *_SECONDS_PER, *COUNTING, *_TEMP, *_FAHRENHEIT, *_WHERE_WARM, *_GRAVITY, *_BRIX,
    *_OECHSLE, *_NOT_AS_READ, *_LITRES, *_GALLONS, *_NOT_IN_VESSEL, *_SUGAR_UNITS, *_EXTREME,
    *_WEIGHED,
    *("c", "a", "one", "every", "per", "bpm", "between", "rate", "and", "us", "uk", "spacing"),
    *(word for some in _WORDS.values() for word in some),
}  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """One column of a table: its place, its heading, and what it means.

    `unit` is the unit of a plain number in it ("F", "min", "us gal"); "?" if nobody can know it.
    `spell_s` is how long bubbles were counted, if the heading says so [s].
    """

    index: int
    heading: str
    kind: Kind | None = None
    unit: str = ""
    spell_s: float | None = None
    why: str = ""  # it is not used


class Found(NamedTuple):
    """What a heading says; the fields are those of `Column`."""

    kind: Kind | None = None
    unit: str = ""
    spell_s: float | None = None
    why: str = ""


Meant = Mapping[str, Found]  # by tidied heading


def columns(headings: Sequence[str], meant: Meant | None = None) -> tuple[Column, ...]:
    """Find what each column means.

    Parameters
    ----------
    headings : sequence of str
        First row of a table.
    meant : mapping, optional
        What some columns mean, as the maker says; no other column means the same.

    Returns
    -------
    tuple of Column
        In the order of the table; `kind` is None if the heading is unknown.

    Examples
    --------
    >>> [(c.kind, c.unit) for c in columns(["Date", "Bubbles/min", "Temp (\u00b0F)", "pH"])]
    [('date', ''), ('rate', ''), ('temp', 'F'), (None, '')]
    """
    said = meant or {}
    settled = {found.kind for found in said.values()} - {"note"}
    return tuple(_said(_column(i, heading), said, settled) for i, heading in enumerate(headings))


def _said(column: Column, meant: Meant, settled: Set[Kind | None]) -> Column:
    """A column with the meaning that the maker gave."""
    if (found := meant.get(tidied(column.heading))) is not None:
        return replace(column, **found._asdict())
    if column.kind is not None and column.kind in settled:
        return replace(column, kind=None, why="another column was chosen for it")
    return column


def is_head(found: Sequence[Column]) -> bool:
    """Whether a row looks like the headings of a table: a moment, and something else."""
    kinds = {column.kind for column in found if column.kind is not None}
    return bool(kinds & _MOMENTS) and bool(kinds - _SAYS_NOTHING_ALONE)


def _column(index: int, heading: str) -> Column:
    told = [*words(heading)] if len(heading) <= 80 else []
    found = None
    if len(told) <= _MOST_WORDS:
        for read in (_count, _temperature, _gravity, _weighed, _volume, _other):
            found = found or read(told)
    if found is None or not (found.spell_s is None or 1.0 <= found.spell_s <= 86_400.0):
        found = Found()
    return Column(index=index, heading=heading.strip(), **found._asdict())


def words(heading: str) -> Iterator[str]:
    """Words of a heading in lower case; "TempC" is two, "S.G." is one, and "/" is "per"."""
    spaced = re.sub(r"(?<=[a-z][a-z])(?=[A-Z])", " ", heading)
    tidy = re.sub(r"\bs\.? ?g\b", "sg", tidied(spaced)).replace("/", " per ")
    tidy = re.sub(r"° ?([cf])\b", r" deg\1", tidy)
    return (english(found[0]) for found in re.finditer(rf"{_NUMBER}|%|[^\W\d_]+", tidy))


def leftover(some: Sequence[str]) -> list[str]:
    """Words of a heading that do not tell what the column means, such as the name of a jar."""
    return [word for word in some if word not in _KNOWN and not re.fullmatch(_NUMBER, word)]


def _count(words: list[str]) -> Found | None:
    """Read a heading about counts: bubbles in a time, time per bubble, or length of a count."""
    has, phrase = {*words}, " ".join(words)
    timed = has & (_SECOND | _MINUTE | {"time"})
    minutes = "min" if has & _MINUTE and not has & _SECOND else ""
    if has & {"spacing", "gap"} or (timed and _ONE_BUBBLE.search(phrase)):
        return Found(kind="spacing", unit=minutes)
    if "every" in has and timed and not re.search(r"[0-9]", phrase):
        return Found(kind="spacing", unit=minutes)
    if "bpm" in has:
        return Found(kind="rate", spell_s=60.0)
    if has & (_SECOND | _MINUTE) and has <= _SECOND | _MINUTE | COUNTING:
        lone = has in ({"min"}, {"s"})  # "min" for minimum, or unclear
        return None if lone else Found(kind="length", unit=minutes)
    if (
        has & {"duration", "length"}
        or has == {"over"}
        or phrase in {"counting time", "count time", "counted for"}
    ):
        return Found(kind="length", unit="?")
    others = has & (_TEMP | _GRAVITY | _LITRES | _GALLONS | _BRIX)
    if not others and (match := _RATE.search(phrase)):
        return Found(kind="rate", spell_s=_spell_s(match[1], match[2] or "min"))
    if not has & _BUBBLE or others:
        return None
    if match := _IN.search(phrase):
        return Found(kind="bubbles", spell_s=_spell_s(match[1] or match[3], match[2] or match[4]))
    plain = not has & (_SECOND | _MINUTE | {"time", "date"}) and has != {"airlock"}
    return Found(kind="bubbles") if plain else None


def _spell_s(size: str | None, unit: str) -> float:
    return float((size or "1").replace(",", ".")) * _SECONDS_PER[unit]


def _temperature(words: list[str]) -> Found | None:
    has = {*words}
    if not has & _TEMP and has - _WHERE_WARM not in ({"c"}, {"f"}):
        return None
    if has & _EXTREME:
        return Found(why="only a temperature taken at the count is used")
    unit = "F" if has & _FAHRENHEIT else ""
    return Found(kind="sample" if has & {"sample", *_GRAVITY} else "temp", unit=unit)


def _gravity(words: list[str]) -> Found | None:
    has = {*words}
    if "refractometer" in has:
        return None if has & _NOT_AS_READ else Found(kind="refractometer")
    scale: Kind = "brix" if has & _BRIX else "oechsle" if has & _OECHSLE else "sg"
    if not has & (_GRAVITY | _BRIX | _OECHSLE) or has & {"date", "time", "day"}:
        return None
    if has & _NOT_AS_READ:
        return Found(why="a diary keeps the gravity as read")
    return Found(kind=scale)


def _weighed(words: list[str]) -> Found | None:
    """Read a heading about weights, if it names a unit and is not a share."""
    has = {*words}
    if has == {"finings", "amount"}:
        return Found(kind="finings")
    units = [_SUGAR_UNITS[word] for word in words if word in _SUGAR_UNITS]
    kinds = [_WEIGHED[word] for word in words if word in _WEIGHED]
    if (
        len(kinds) != 1
        or len(units) != 1
        or has & (_LITRES | _GALLONS | {"per", "residual", "left"})
    ):
        return None
    known = kinds[0] == "sugar" or units[0] == "g"  # doses are weighed in grams
    return Found(kind=kinds[0], unit=units[0]) if known else None


def _volume(words: list[str]) -> Found | None:
    has = {*words}
    kind: Kind = "added" if "added" in has else "litres"
    if not has & (_LITRES | _GALLONS) or has & (_NOT_IN_VESSEL - {"added"}):
        return None
    if has & _GALLONS:
        whose = "uk " if has & {"uk", "imperial"} else "us " if "us" in has else ""
        return Found(kind=kind, unit=f"{whose}gal")
    return Found(kind=kind, unit="ml" if "ml" in has else "cl" if "cl" in has else "")


def _other(words: list[str]) -> Found | None:
    has = {*words}
    if has & {"struck", "week", "weekday", "next", "last"}:
        return Found(kind="struck") if has == {"struck"} else None
    if {"day", "time"} <= has:
        return Found(kind="time" if "of" in has else "date")
    for kind, known in _WORDS.items():
        if has & known:
            return Found(kind=kind)
    return None
