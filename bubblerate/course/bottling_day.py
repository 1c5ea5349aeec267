"""Works out what a bottling evening needs, for one jar or more: litres, bottles, sulphite.

Litres; a range is (low, high). Losses are common practice, no source, or from memory, as `volumes`
says for each.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from ..physics.scales import sg_at
from ..verdict.reasons import Kind, Phase, Question
from .volumes import FILTER_LITRES, bottles

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date
    from pathlib import Path

    from .balance import Balance
    from .figures import Figures
    from .judgement import Judgement

__all__ = ["SPARE_CLOSURES", "BottlingDay", "JarToBottle", "bottling_day"]

LEES_LITRES: Final = (0.1, 0.3)  # per jar, left above the last sediment (from memory, no source)
SPARE_CLOSURES: Final = 2  # a torn cork, a chipped bottle; common practice, no source
GO_ON_POINTS: Final = 1.0  # points that a reading that evening may be above the last one


@dataclass(frozen=True, slots=True, kw_only=True)
class JarToBottle:
    """One jar on its bottling evening.

    Attributes
    ----------
    name : str
    path : Path
        Its diary.
    litres : float or None
    sg : float or None
        Last gravity.
    read_on : date or None
    holds : Balance or None
        Strength and sugar.
    go : bool
        Whether it may be bottled that evening.
    wait : str
        Why not, and what is next; empty on a go.
    stop_above_sg : float or None
        If it reads more that evening, stop.
    figures : Figures
    """

    name: str
    path: Path
    litres: float | None
    sg: float | None
    read_on: date | None
    holds: Balance | None
    go: bool
    wait: str
    stop_above_sg: float | None
    figures: Figures


@dataclass(frozen=True, slots=True, kw_only=True)
class BottlingDay:
    """All jars of one evening.

    Attributes
    ----------
    jars : tuple of JarToBottle
    size_cl : int
    litres : float or None
        Of all jars; None if one of them is unknown.
    bottles : (int, int) or None
        Full ones, with the largest and the smallest losses.
    most : int or None
        Full ones if nothing were lost; topped up from the spare, they are all full.
    spare_litres : (float, float) or None
        What the spare gives for that [L].
    left_litres : (float, float) or None
        Left over after `bottles` [L].
    filtered : bool
        Whether the loss of a filter is counted.
    """

    jars: tuple[JarToBottle, ...]
    size_cl: int
    litres: float | None
    bottles: tuple[int, int] | None
    most: int | None
    spare_litres: tuple[float, float] | None
    left_litres: tuple[float, float] | None
    filtered: bool


def bottling_day(
    jars: Sequence[tuple[Judgement, Figures]], *, size_cl: int, filtered: bool
) -> BottlingDay:
    """Plan a bottling evening.

    Parameters
    ----------
    jars : sequence of (Judgement, Figures)
        At least one.
    size_cl : int
        Size of a bottle [cl].
    filtered : bool
        Whether it is filtered on the way.

    Returns
    -------
    BottlingDay
    """
    each = tuple(_jar(judged, figures) for judged, figures in jars)
    known = [jar.litres for jar in each if jar.litres is not None]
    if len(known) < len(each):
        return BottlingDay(
            jars=each, size_cl=size_cl, litres=None, bottles=None, most=None, spare_litres=None,
            left_litres=None, filtered=filtered,
        )  # fmt: skip
    total = math.fsum(known)
    least, most = (
        len(each) * lees + (pad if filtered else 0.0)
        for lees, pad in zip(LEES_LITRES, FILTER_LITRES, strict=True)
    )
    in_bottle = max(total - most, 0.0), max(total - least, 0.0)
    number = bottles(in_bottle[0], size_cl), bottles(in_bottle[1], size_cl)
    full = bottles(total, size_cl)
    needed = full * size_cl / 100.0
    return BottlingDay(
        jars=each,
        size_cl=size_cl,
        litres=total,
        bottles=number,
        most=full,
        spare_litres=(max(needed - in_bottle[1], 0.0), max(needed - in_bottle[0], 0.0)),
        left_litres=tuple(  # type: ignore[arg-type]  # two values
            litres - n * size_cl / 100.0 for litres, n in zip(in_bottle, number, strict=True)
        ),
        filtered=filtered,
    )


def _jar(judged: Judgement, figures: Figures) -> JarToBottle:
    course = judged.course
    last = None if course is None else course.facts.gravity.last
    go = course is not None and course.go(Question.BOTTLING)
    highest = None
    if last is not None:
        highest = last.sg + (sg_at(GO_ON_POINTS) - 1.0)
    return JarToBottle(
        name=judged.diary.vessel,
        path=judged.diary.path,
        litres=figures.stands.litres,
        sg=None if last is None else last.sg,
        read_on=None if last is None else last.on,
        holds=figures.balance,
        go=go,
        wait="" if go else _wait(judged),
        stop_above_sg=highest,
        figures=figures,
    )


def _wait(judged: Judgement) -> str:
    """What is next instead of bottling."""
    course = judged.course
    if course is None:
        return "nothing has been written down yet"
    if course.phase is Phase.BOTTLED and course.next.kind is not Kind.RESCUE:
        return "it is already in bottles"
    if course.phase is Phase.EMPTY:
        return "it is empty"
    return course.next.do
