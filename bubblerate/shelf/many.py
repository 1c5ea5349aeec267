"""Judges or forecasts many vessels at once, into one tidy table.

One row per vessel, in the order of the input; times are UTC. A vessel that cannot be answered is a
row with its error. By default the work is shared among the cores of this machine, in processes. So
a script must call this under ``if __name__ == "__main__":``, since each process loads the script
again.
"""

from __future__ import annotations

import math
from contextlib import nullcontext
from dataclasses import dataclass
from itertools import chain, islice
from typing import TYPE_CHECKING, Any, Literal

import pandas as pd

from ..course.judgement import judge
from ..diary.csv_rows import guarded
from ..diary.folder import Unread
from ..diary.given import a_diary
from ..diary.settings import Settings
from ..diary.visit import Diary
from ..errors import InputError
from ..text import printable
from .executors import executor_for, in_order
from .tables import vessels

if TYPE_CHECKING:
    from collections.abc import Iterable
    from concurrent.futures import Executor
    from datetime import datetime

    from ..course.judgement import Judgement
    from ..verdict.reasons import Question

__all__ = ["forecast_many", "judge_many"]

_FEW = 40  # vessels: judged here before a pool of processes would have started

# Columns of the tables, with their types.
_TIME = "datetime64[us, UTC]"
_ASKED = {"vessel": "str", "asked_at": _TIME, "threshold_per_min": "float64"}
_JUDGED = {
    **_ASKED,
    "question": "str",
    "verdict": "str",
    "firmness": "str",
    "reasons": "str",
    "next": "str",
    "due": "datetime64[s]",
    "error": "str",
}
_BELOW = ("low95", "low80", "median", "high80", "high95")
_FORECAST = {
    **_ASKED,
    "basis": "str",
    "counts": "Int64",
    "per_min": "float64",
    "per_min_low80": "float64",
    "per_min_high80": "float64",
    **{f"below_{name}": _TIME for name in _BELOW},
    "p_already": "float64",
    "p_not_in_60_days": "float64",
    "points_to_fall": "float64",
    "finish_sg": "float64",
    "effective_draws": "float64",
    "distrust": "str",
    "error": "str",
}


def judge_many(
    source: pd.DataFrame | Iterable[Diary | Unread],
    *,
    at: datetime | None = None,
    question: Question | Literal["racking", "bottling"] | None = None,
    threshold_per_min: float | None = None,
    settings: Settings | None = None,
    executor: Executor | None = None,
) -> pd.DataFrame:
    """Decide go or wait for many vessels.

    Parameters
    ----------
    source : DataFrame or iterable of Diary or Unread
        A long table (see `vessels`), or diaries; an iterable is read lazily.
    at : datetime, optional
        The moment asked about, aware; by default that of the last live row of each vessel.
    question : {"racking", "bottling"}, optional
        What is to be decided; by default racking while it ferments, and bottling after.
    threshold_per_min : float, optional
        Rate below which a vessel counts as quiet [bubbles/min]; by default that of `settings`.
    settings : Settings, optional
        Hydrometer, threshold, and what is known about each vessel.
    executor : concurrent.futures.Executor, optional
        Where the work is done, such as ``distributed.Client.get_executor()``; it stays open. By
        default the cores of this machine.

    Returns
    -------
    DataFrame
        Columns vessel, asked_at, threshold_per_min, question, verdict, firmness, reasons (their
        codes, weightiest first, separated by spaces), next, due, error (empty where there is none).
        A text that a spreadsheet would take for a formula has an apostrophe before it.

    Raises
    ------
    ValueError
        If the threshold is not above 0.
    DiaryError
        If a table lacks a needed column.

    Examples
    --------
    >>> from pathlib import Path
    >>> from bubblerate import diaries
    >>> judge_many(diaries(Path("examples"), Settings()))["verdict"].value_counts()["go"].item()
    2
    """
    asked = _Asked(at, question, threshold_per_min, settings or Settings(), "verdict")
    return _table(source, asked, _JUDGED, executor)


def forecast_many(
    source: pd.DataFrame | Iterable[Diary | Unread],
    *,
    at: datetime | None = None,
    threshold_per_min: float | None = None,
    settings: Settings | None = None,
    executor: Executor | None = None,
) -> pd.DataFrame:
    """Forecast when the bubbling falls below a threshold, for many vessels.

    Parameters
    ----------
    source, at, threshold_per_min, settings, executor
        As for `judge_many`.

    Returns
    -------
    DataFrame
        Columns vessel, asked_at, threshold_per_min, basis (the ``tail``, ``whole ferments`` like it
        if the tail is too short, or both), counts (in the tail), per_min (rate at the usual
        temperature) with its 80 % interval, below_low95, below_low80, below_median, below_high80,
        below_high95 (empty where it is more than 60 days ahead), p_already, p_not_in_60_days,
        points_to_fall, finish_sg, effective_draws (of the fit of the tail), distrust (why the
        spread should not be trusted), error.

    Raises
    ------
    ValueError, DiaryError
        As for `judge_many`.

    Examples
    --------
    >>> from pathlib import Path
    >>> from bubblerate import diaries
    >>> found = forecast_many(diaries(Path("examples"), Settings()))
    >>> bool((found["below_low80"] <= found["below_median"]).all())
    True
    """
    asked = _Asked(at, None, threshold_per_min, settings or Settings(), "forecast")
    return _table(source, asked, _FORECAST, executor)


@dataclass(frozen=True, slots=True)
class _Asked:
    """The question for every vessel: called with a diary, it gives a row of the table."""

    at: datetime | None
    question: Question | Literal["racking", "bottling"] | None
    threshold_per_min: float | None
    settings: Settings
    wanted: Literal["verdict", "forecast"]

    def __post_init__(self) -> None:
        threshold = self.threshold_per_min
        if threshold is not None and not (0.0 < threshold < math.inf):
            raise ValueError(f"a threshold is above 0 bubbles a minute, got {threshold}")
        if self.at is not None and self.at.utcoffset() is None:
            raise ValueError(f"the moment needs its UTC offset, got {self.at}")

    def __call__(self, one: Diary | Unread) -> dict[str, Any]:
        if isinstance(one, Unread):
            return _lost(one, one.error)
        one = a_diary(one)
        at = self.at or max((visit.when for visit in one.live), default=None)
        if at is None:
            return _lost(one, f"{one.vessel}: nothing has been written down yet")
        try:
            judged = judge(
                one,
                at=at,
                question=self.question,
                threshold_per_min=self.threshold_per_min,
                settings=self.settings,
            )
        except Exception as err:  # noqa: BLE001 - a fault of ours in one vessel must not cost the others
            return _lost(one, f"{one.vessel}: {type(err).__name__}: {err}")
        return _verdict(judged) if self.wanted == "verdict" else _forecast(judged)


def _table(
    source: pd.DataFrame | Iterable[Diary | Unread],
    asked: _Asked,
    columns: dict[str, Any],
    executor: Executor | None,
) -> pd.DataFrame:
    if isinstance(source, pd.DataFrame):
        source = vessels(source, settings=asked.settings)
    elif isinstance(source, Diary):
        raise InputError("give a list of diaries; for one diary use judge")
    every = iter(source)
    first = list(islice(every, _FEW))
    no_words = {name: "" for name, kind in columns.items() if kind == "str"}
    own = executor is None and len(first) == _FEW
    with executor_for() if own else nullcontext(executor) as chosen:
        found = in_order(asked, chain(first, every), executor=chosen, lost=_lost)
        rows = [no_words | row for row in found]
    for row in rows:  # in a CSV, no name or error is a formula or moves a cursor
        row |= {name: _harmless(row[name]) for name in no_words}
    answers = pd.DataFrame(rows, columns=list(columns))
    for name, kind in columns.items():
        if kind == _TIME:  # for vessels with different offsets
            answers[name] = pd.to_datetime(answers[name], utc=True)
    return answers.astype(columns)


def _harmless(text: str) -> str:
    return guarded(text if text.isprintable() else printable(text))


def _lost(one: Diary | Unread, error: str) -> dict[str, Any]:
    return {"vessel": one.vessel, "error": error}


def _asked(judged: Judgement) -> dict[str, Any]:
    v = judged.verdict
    return {
        "vessel": v.vessel,
        "asked_at": v.asked_at,
        "threshold_per_min": v.threshold_per_min,
    }


def _verdict(judged: Judgement) -> dict[str, Any]:
    v = judged.verdict
    return _asked(judged) | {
        "question": v.question.value,
        "verdict": v.answer,
        "firmness": v.firmness,
        "reasons": " ".join(reason.code for reason in v.reasons),
        "next": v.next.do,
        "due": v.next.on,
    }


def _forecast(judged: Judgement) -> dict[str, Any]:
    f, fit = judged.forecast, judged.fit
    if f is None:
        few = f"{judged.diary.vessel}: too few counts since its peak for a forecast"
        return _asked(judged) | {"error": few}
    fall, finish = f.points_to_fall, f.finish_sg
    return _asked(judged) | {
        "basis": str(f.basis),
        "counts": 0 if judged.tail is None else judged.tail.trusted,
        "per_min": f.per_min.median,
        "per_min_low80": f.per_min.low80,
        "per_min_high80": f.per_min.high80,
        **{f"below_{name}": getattr(f.crossing, name) for name in _BELOW},
        "p_already": f.crossing.p_already,
        "p_not_in_60_days": f.crossing.p_not_in_60_days,
        "points_to_fall": None if fall is None else fall.median,
        "finish_sg": None if finish is None else finish.median,
        "effective_draws": None if fit is None else fit.draws.effective_sample_size,
        "distrust": f.distrust,
    }
