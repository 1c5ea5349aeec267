"""Judges random whole diaries, most of them absurd, with every warning as an error.

Each is asked about racking and bottling, at its last row and later. What must be true for every
diary is in `faults`; a diary that breaks it, or raises, is printed with its seed. The table tells
how many fits found no curve, how many distrust themselves, and why.

Run: python tests/bench/trust/extremes.py [diaries] [first seed]
"""

from __future__ import annotations

import json
import math
import sys
import warnings
from collections import Counter
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

import numpy as np

from bubblerate.course.as_json import as_object
from bubblerate.course.balance import balance
from bubblerate.course.judgement import judge
from bubblerate.diary.doubts import SG_LOW
from bubblerate.diary.events import EVENTS, Event
from bubblerate.diary.outcomes import Opened
from bubblerate.diary.settings import Hydrometer, Settings, VesselSettings
from bubblerate.diary.visit import Diary, Visit
from bubblerate.show.verdict_text import as_text

if TYPE_CHECKING:
    from collections.abc import Iterator

    from bubblerate.course.balance import Balance
    from bubblerate.course.judgement import Judgement
    from bubblerate.ferment.chances import Span

START = datetime(2026, 10, 1, 21, tzinfo=UTC)
NOTHING_PER_MIN = 1e-9  # a rate below which an interval may be lost in rounding

Rng = np.random.Generator
Value = TypeVar("Value")


def random_diary(rng: Rng) -> Diary:
    """Up to forty visits, in any order of sense, on days that may coincide or lie years apart."""
    n = int(rng.integers(0, 41))
    gaps = rng.choice([0.0, 0.3, 1.0, 7.0, 370.0], n, p=[0.1, 0.1, 0.7, 0.08, 0.02])
    rate = 10.0 ** rng.uniform(-1.0, 3.0) * rng.choice([0.5, 0.8, 0.95, 1.0, 1.2])
    rate = rate * rng.choice([0.6, 0.8, 0.9, 0.97, 1.0, 1.1]) ** np.cumsum(gaps)
    wild = rng.choice([0.0, 0.1, 1.0])
    sg = rng.uniform(0.99, 1.1) - 10.0 ** rng.uniform(-5.0, -2.0) * np.cumsum(gaps)
    visits = [
        _visit(rng, START + timedelta(days=float(d)), float(min(r, 1e6)), wild, float(g))
        for d, r, g in zip(np.cumsum(gaps), rate, sg, strict=True)
    ]
    return Diary(path=Path("fig.csv"), vessel="fig", visits=tuple(visits))


def _visit(rng: Rng, when: datetime, per_min: float, wild: float, sg: float) -> Visit:
    def now_and_then(chance: float, value: Value) -> Value | None:
        return value if rng.uniform() < chance else None

    seconds = float(rng.choice([1.0, 10.0, 60.0, 300.0, 86_400.0], p=[0.02, 0.1, 0.5, 0.36, 0.02]))
    bubbles = rng.poisson(min(per_min * seconds / 60.0, 1e6))
    if rng.uniform() < 0.1 * wild:
        bubbles = rng.choice([0, 1, 1000, 10**6])
    if rng.uniform() < 0.1 * wild:
        sg = rng.uniform(0.7, 1.3)
    return Visit(
        when=when,
        bubbles=now_and_then(0.8, int(min(bubbles, 10**6))),
        seconds=seconds,
        temp_c=now_and_then(0.6, float(rng.choice([-10.0, 5.0, 17.0, 19.0, 19.0, 22.0, 50.0]))),
        pressure_hpa=now_and_then(0.2, float(rng.uniform(800.0, 1100.0))),
        sg=now_and_then(0.3, round(float(np.clip(sg, 0.7, 1.3)), 4)),
        sample_c=now_and_then(0.3, float(rng.uniform(0.0, 40.0))),
        event=now_and_then(0.08, Event(rng.choice(EVENTS))),
        litres=now_and_then(0.1, float(10.0 ** rng.uniform(-1.3, 4.0))),
        struck=str(now_and_then(0.05, "2026-12-01T12:00:00+00:00") or ""),
    )


def random_settings(rng: Rng) -> Settings:
    """Any that `bubblerate.toml` may hold."""
    finish = None if rng.uniform() < 0.5 else float(rng.uniform(0.98, 1.04))
    return Settings(
        hydrometer=Hydrometer(
            calibration_c=float(rng.choice([15.56, 20.0])), offset=float(rng.choice([0.0, 0.05]))
        ),
        threshold_per_min=float(rng.choice([0.001, 0.2, 1.0, 2.0, 1000.0])),
        vessels={"fig": VesselSettings(finish=finish, litres=4.5)},
    )


def faults(judged: Judgement) -> Iterator[str]:
    """What must not be, whatever a diary says."""
    v, f, g, s = judged.verdict, judged.forecast, judged.gravity, judged.facts.airlock
    json.dumps(as_object(judged), allow_nan=False)
    if not (v.reasons and v.next.do and all(r.text in _flat(judged) for r in v.reasons)):
        yield "an answer without its reasons"
    if f is not None:
        spans = (f.per_min, f.threshold_points_per_day, f.points_to_fall, f.finish_sg, f.bubble_ml)
        for span in filter(None, spans):
            yield from _span_faults(span)
        c = f.crossing
        times = [c.low95, c.low80, c.median, c.high80, c.high95]
        given = [t for t in times if t is not None]
        if given != sorted(given) or any(times[len(given) :]):
            yield "dates out of order"
        open_start = (
            judged.tail is not None and c.low80 is not None and c.low80 <= judged.tail.start
        )
        if c.high80 is not None and c.low80 == c.high80 and not open_start:
            yield "a date without doubt"
        if not (0.0 <= c.p_already <= 1.0 and 0.0 <= c.p_not_in_60_days <= 1.0):
            yield "a chance outside 0 to 1"
        if (
            not f.distrust
            and judged.fit is not None
            and judged.fit.draws.effective_sample_size < 200.0
        ):
            yield "few effective draws, and no word of it"
    if v.answer == "wait":
        return
    if judged.facts.acts.bottled_at is not None:
        yield "a go in the bottle"
    if v.firmness == "bubbles" and (f is None or f.distrust or s.quiet.counts < 3):
        yield "a go by bubbles alone that was not earned"
    if v.firmness in ("gravity", "both") and (g is None or g.latest.sg < SG_LOW or g.leak):
        yield "a go by a gravity that cannot be believed"
    if v.question == "bottling" and not judged.proof.go:
        yield "bottled without proof"


def _flat(judged: Judgement) -> str:
    return " ".join(as_text(judged, width=10_000, more=True).split())


def _span_faults(span: Span) -> Iterator[str]:
    values = (span.low80, span.median, span.high80)
    if not all(map(math.isfinite, values)):
        yield "a number that is none"
    if sorted(values) != [*values]:
        yield "limits out of order"
    if span.low80 == span.high80 and span.high80 > NOTHING_PER_MIN:
        yield "a number without doubt"


def sugared(diary: Diary, seed: int) -> Diary:
    """The same with sugar, wine or water in, of any amount, where something was done."""
    rng = np.random.default_rng([seed, 1])
    visits = [
        replace(
            visit,
            sugar_g=float(10.0 ** rng.uniform(0.0, 5.0)) if rng.uniform() < 0.5 else None,
            added_l=float(10.0 ** rng.uniform(-2.0, 2.0)) if rng.uniform() < 0.5 else None,
        )
        if visit.event is not None
        else visit
        for visit in diary.visits
    ]
    return replace(diary, visits=tuple(visits))


def balance_faults(holds: Balance | None) -> Iterator[str]:
    """What no strength, gravity or sugar of a wine can be."""
    if holds is None:
        return
    for name, (low, middle, high), most in (
        ("strength", holds.abv_pct, 25.0),
        ("gravity", holds.sg, 1.3),
        ("sugar", holds.sugar_g_per_litre, 500.0),
    ):
        if not 0.0 <= low <= middle <= high <= most:
            yield f"{name} {low} {middle} {high}"


def trial(seed: int) -> tuple[list[str], list[Judgement]]:
    """One diary, both questions, two moments: what is wrong, and what was judged."""
    rng = np.random.default_rng(seed)
    diary, settings = random_diary(rng), random_settings(rng)
    last = diary.visits[-1].when if diary.visits else START
    found: list[str] = []
    judgements: list[Judgement] = []
    for question in ("racking", "bottling"):
        for later_days in (0.0, float(rng.choice([0.3, 3.0, 400.0]))):
            at = last + timedelta(days=later_days)
            judged = judge(diary, at=at, question=question, settings=settings)
            found += faults(judged)
            judgements.append(judged)
    holds = balance(Opened(sugared(diary, seed), settings, ()), at=last)
    return [*found, *balance_faults(holds)], judgements


def main() -> None:
    """Judge, print."""
    warnings.simplefilter("error")
    diaries, first = (int(arg) for arg in (*sys.argv[1:], *("300", "0")[len(sys.argv) - 1 :]))
    table: Counter[str] = Counter()
    wrong = 0
    for seed in range(first, first + diaries):
        try:
            found, judgements = trial(seed)
        except Exception as err:  # whatever it is, it is to be seen
            found, judgements = [f"{type(err).__name__}: {err}"], []
        wrong += bool(found)
        for fault in sorted({*found}):
            print(f"seed {seed}: {fault}")
        for judged in judgements:
            table[f"{judged.verdict.question}: {judged.verdict.answer}"] += 1
            if any(reason.code == "no-curve" for reason in judged.verdict.reasons):
                table["no curve found"] += 1
            elif judged.fit is not None:
                why = judged.fit.distrust
                why = "too few draws" if why.startswith("only") else why
                table[f"fits that distrust: {why}" if why else "fits that may be believed"] += 1
    for name, times in sorted(table.items()):
        print(f"{times:6d}  {name}")
    print(f"{wrong} of {diaries} diaries at fault")


if __name__ == "__main__":
    main()
