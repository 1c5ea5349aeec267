"""Facts with one of them changed, to be asked of the table of steps."""

from __future__ import annotations

from dataclasses import fields, is_dataclass, replace
from datetime import date, timedelta
from functools import partial
from typing import TYPE_CHECKING, Any, get_args

from bubblerate.course import inputs
from bubblerate.course.parts import AirState
from bubblerate.verdict.reasons import Kind

if TYPE_CHECKING:
    from collections.abc import Iterator

    from bubblerate.course.facts import Facts

MISSING = (inputs.READINGS, inputs.ODD, inputs.BUBBLING, inputs.RISK)
DAYS = (-40, -30, -6, -1, 0, 1, 30)


def goes(kind: Kind | str, since: date, on: date) -> bool:
    """Whether a step is a go."""
    return kind in (Kind.RACK, Kind.BOTTLE) and since <= on


def one_changed(facts: Facts, on: date) -> Iterator[tuple[str, Facts, date]]:
    """The same facts on other days, then with each field changed in turn, and what was changed."""
    for days in (-30, -10, -6, -2, -1, 6, 7, 8, 29, 30, 31, 40):
        yield f"{days} days", facts, on + timedelta(days=days)
    for name, one in _changed(facts, on):
        yield name, one, on


def _changed(value: Any, on: date) -> Iterator[tuple[str, Any]]:
    """A frozen value with one of its fields changed, at any depth."""
    for one in fields(value):
        was = getattr(value, one.name)
        others = _changed(was, on) if is_dataclass(was) else _others(one.name, was, on)
        for name, other in others:
            if other is not None or "None" in str(one.type):
                dot = "." if is_dataclass(was) else " "
                yield f"{one.name}{dot}{name}", replace(value, **{one.name: other})


def _others(name: str, was: Any, on: date) -> Iterator[tuple[str, Any]]:
    """Other values that a fact may have."""
    match was:
        case bool():
            yield str(not was), not was
        case "":
            yield "said", "said"
        case date():
            yield "None", None
            yield from ((f"{days:+d} days", was + timedelta(days=days)) for days in DAYS if days)
        case int() | float():
            yield from ((f"{by:+d}", was + by) for by in (-1, 1))
        case dict():
            for kind in Kind:
                for days in (-10, 0):
                    yield f"{kind} {days}", {**was, kind: on + timedelta(days=days)}
    match name:
        case "state":
            yield from ((state, state) for state in get_args(AirState) if state != was)
        case "missing":
            yield from ((one, frozenset({one})) for one in MISSING)
        case "readings":
            yield from _of_readings(was)
        case "find_earliest":
            ends = (None, *(on + timedelta(days=days) for days in DAYS))
            yield from ((str(end and (end - on).days), partial(_same, end)) for end in ends)
        case "end_sg":
            yield from ((str(end), end) for end in ((0.98, 0.99), (1.0, 1.01), None))
        case _ if was is None and name.endswith(("on", "since", "from")):
            yield from ((f"{days:+d} days", on + timedelta(days=days)) for days in DAYS)
        case _ if was is None and name.endswith("_c"):
            yield from ((f"{c:.0f} C", c) for c in (8.0, 12.0, 18.0))


def _same(day: date | None) -> date | None:
    return day


def _of_readings(was: tuple[Any, ...]) -> Iterator[tuple[str, Any]]:
    for n, read in enumerate(was):
        yield f"{n} gone", was[:n] + was[n + 1 :]
        for by in (-0.01, 0.002, 0.006, 0.02):
            yield f"{n} {by:+.3f}", (*was[:n], replace(read, sg=read.sg + by), *was[n + 1 :])
        for days in (-9, -1, 1):
            moved = replace(read, on=read.on + timedelta(days=days))
            yield f"{n} {days:+d} days", (*was[:n], moved, *was[n + 1 :])
