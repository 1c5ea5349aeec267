"""Small faults in every module of verdict/ and course/: does any bring a wrong go, unseen?

The mutants are those of `mutants.py`, all of them. They are put to the tables of harm (`harms`,
`kept`), to the go rows of the table of steps with one fact changed, and to diaries that wait on the
edge of a go: those of `monotone.py` that lack one thing, or that wait because one thing was made
worse. One that says go there is *harmful*; where a table of harm says go, or where it moves an edge
that is written down (`tests/whole/test_edges.py`), it is killed. What is left is put to the tests
of its own module, and printed if it survives those too.

To try all, `telling.py` first leaves out the mutants that change what no function returns, diary by
diary. The others are judged in a process of their own, on the diaries that told most before, until
the first go. The modules of the proof are put to it without the course, at a tenth of the cost;
what those diaries never come to is tried on the course, and what that never comes to on the whole
judgement. Fits are made once, before any mutant, and the days of readings to come are left out, for
no go rests on them.

Run: python tests/bench/verdict/wrong_goes.py [module ...] [--every K] [--diaries N] [--most N]
"""

from __future__ import annotations

import argparse
import importlib
import os
import pickle
import random
import signal
import sys
import tempfile
import time
import warnings
from collections import Counter
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, field, replace
from functools import lru_cache, partial
from itertools import count, islice
from pathlib import Path
from typing import TYPE_CHECKING, Any
from unittest.mock import patch

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # what benches and tests share

from whole import test_edges

from bubblerate.course import judgement
from bubblerate.diary.settings_file import settings as settings_in
from bubblerate.ferment.forecast import forecast
from bubblerate.verdict import sugar_grid
from bubblerate.verdict.judgement import situation
from bubblerate.verdict.lacks import lacks
from bubblerate.verdict.proof import evidence_for_bottling
from bubblerate.verdict.reasons import Question
from bubblerate.verdict.sugar_grid import weigh

from bench.verdict.monotone import changed, drawn, fitted_once, moment_of, settings_of
from bench.verdict.mutants import PACKAGE, ROOT, Mutant, apart, change, killed, mutants
from bench.verdict.situations import edges, facts_rows
from bench.verdict.telling import CHANGED, Fault, Faults, Watch, caches, put
from cases import PITCHED, SAID
from harms import HARM, RACKED
from kept import HURTS
from scenes import diary, evening

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Sequence
    from datetime import datetime

    from bubblerate.diary.settings import Settings
    from bubblerate.ferment.fit import Fit
    from bubblerate.ferment.forecast import Forecast
    from bubblerate.ferment.whole import Whole

    from bench.verdict.monotone import Drawn
    from kept import Row

MOST_OF_A_KIND = 4
HANG_S = 20  # of CPU time, for all diaries of one mutant
OF_PROOF = (
    *("verdict.proof", "verdict.lacks", "verdict.sugar_grid", "verdict.sugar_odds"),
    *("verdict.sugar_evidence", "verdict.before", "verdict.limits", "verdict.stood"),
    *("verdict.noted", "verdict.seen", "verdict.acts"),
)
OF_TABLE = (
    *("course.table", "course.facts", "course.waits", "course.days", "course.parts"),
    *("course.engine", "course.windows", "course.inputs", "course.season"),
)
MODULES = tuple(
    f"{folder}.{path.stem}"
    for folder in ("verdict", "course")
    for path in sorted((PACKAGE / folder).glob("*.py"))
    if path.stem != "__init__"
)
HARMLESS, NEVER = "harmless", "never told"
NO_GO, DIED = -1, -2  # instead of the index of a diary
QUESTIONS = (Question.RACKING, Question.BOTTLING)


# --- diaries -------------------------------------------------------------------------------------


@dataclass(frozen=True, kw_only=True)
class Edge:
    """Facts, to be asked of the table of steps."""

    table_goes: Callable[[], bool]
    table: bool = False  # of the tests


@dataclass(frozen=True, kw_only=True)
class Asked:
    """A diary, the moment asked about, and the questions on which a go is harm."""

    rows: tuple[Row, ...]
    at: datetime
    settings: Settings
    on: tuple[Question, ...] = QUESTIONS
    table: bool = False  # of harm

    def proof(self) -> bool:
        """Whether nothing stands against bottling it."""
        known = evidence_for_bottling(diary(*self.rows), at=self.at, settings=self.settings)
        return not lacks(known, weigh(known))

    def course(self) -> bool:
        """Whether the course, from which the judgement takes its answer, says go."""
        asked = situation(diary(*self.rows), self.at, self.settings)
        fit = judgement.fit_situation(asked)  # type: ignore[attr-defined]  # by the name patched
        found = judgement._held(judgement._course(asked, fit), asked, fit)
        return any(map(found.go, self.on))

    def judged(self) -> bool:
        """Whether a person reads go."""
        made = diary(*self.rows)
        found = [
            judgement.judge(made, at=self.at, question=q, settings=self.settings) for q in self.on
        ]
        return any(
            f.verdict.answer == "go" or (f.course and f.course.go(q))
            for f, q in zip(found, self.on, strict=True)
        )


def _of(one: Drawn) -> Asked:
    return Asked(rows=one.rows, at=moment_of(one), settings=settings_of(one))


def _settings(toml: str) -> Settings:
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "bubblerate.toml").write_text(toml)
        return settings_in(Path(folder))


def _made_worse() -> Iterator[Asked]:
    """What waits because one thing of a jar that is a go was made worse, few of each kind."""
    kinds: Counter[tuple[bool, str]] = Counter()
    for n in count():
        one = drawn(n)
        if not _of(one).course():
            continue
        bottling = replace(_of(one), on=(Question.BOTTLING,)).course()
        for name, two in changed(one):
            kind = bottling, name.partition(":")[0]
            if kinds[kind] < MOST_OF_A_KIND and not _of(two).course():
                kinds[kind] += 1
                yield _of(two)


def _near_a_go() -> Iterator[Asked]:
    """What lacks one thing."""
    for n in count():
        one = drawn(n)
        if one.name != "slowing" and _lacking(one) == 1:
            yield _of(one)


def _lacking(one: Drawn) -> int:
    known = evidence_for_bottling(diary(*one.rows), at=moment_of(one), settings=settings_of(one))
    return len({lack.check for lack in lacks(known, weigh(known))})


def _of_kept() -> Iterator[Asked]:
    for jar, _ in HURTS.values():
        at = evening(max(row["day"] for row in jar.rows) + jar.later)
        own = _settings(jar.settings)
        yield Asked(rows=tuple(jar.rows), at=at, settings=own, on=(Question.BOTTLING,), table=True)


def _of_harm() -> Iterator[Asked]:
    for _, rows, toml, ons in HARM:
        for on in map(Question, ons):
            eve = on is Question.BOTTLING and rows[0] is PITCHED
            made = sorted([*rows, *SAID, RACKED] if eve else rows, key=lambda row: row["day"])
            at = evening(max(0.0, made[-1]["day"]) + 0.2)
            yield Asked(rows=tuple(made), at=at, settings=_settings(toml), on=(on,), table=True)


# --- trying them ---------------------------------------------------------------------------------


@dataclass(kw_only=True)
class Tried:
    """What became of the mutants so far."""

    faults: list[Fault]
    fates: dict[int, str] = field(default_factory=dict)
    reached: set[int] = field(default_factory=set)
    unseen: list[int] = field(default_factory=list)  # harmful, and no table of harm says so

    def left(self, modules: Iterable[str]) -> list[int]:
        """Mutants of some modules that no diary came to."""
        some = {*modules}
        return [
            n
            for n, fault in enumerate(self.faults)
            if fault.mutant.module in some and n not in self.reached and n not in self.fates
        ]

    def again(self) -> None:
        """Try those on whole diaries that did no harm to facts made up."""
        self.reached -= {n for n, fate in self.fates.items() if fate in (HARMLESS, NEVER)}
        self.fates = {n: fate for n, fate in self.fates.items() if n in self.reached}


@contextmanager
def made_once() -> Iterator[None]:
    """Fits, forecasts and weighings of the same evidence are made once."""
    known: dict[tuple[int, bytes], tuple[Fit | None, Forecast | None]] = {}

    def told(
        fit: Fit | None, whole: Whole | None = None, *, at: datetime, threshold_per_min: float
    ) -> Forecast | None:
        key = id(fit), pickle.dumps((whole, at, threshold_per_min))
        if key not in known:
            made = forecast(fit, whole, at=at, threshold_per_min=threshold_per_min)
            known[key] = fit, made  # the fit is kept, so that no other has its id
        return known[key][1]

    weighed = lru_cache(maxsize=None)(sugar_grid._weighed.__wrapped__)
    with ExitStack() as stack:
        stack.enter_context(fitted_once())
        stack.enter_context(patch("bubblerate.course.known.earliest", lambda _: None))
        stack.enter_context(patch("bubblerate.verdict.proof.earliest", lambda _: None))
        stack.enter_context(patch("bubblerate.verdict.judgement.forecast", told))
        stack.enter_context(patch("bubblerate.verdict.sugar_grid._weighed", weighed))
        yield


def attempt(
    tried: Tried, known: Faults, some: list[int], asks: Sequence[Asked | Edge], how: str, most: int
) -> None:
    """Put some mutants to diaries that wait, asked in one way."""
    asks = [ask for ask in asks if not getattr(ask, how)()]
    ways = [getattr(ask, how) for ask in asks]
    began = time.process_time()
    found = apart(partial(_told, known, [tried.faults[n] for n in some], ways), None, seconds=0)
    assert isinstance(found, dict), "the watch died"
    reached, told = found["reached"], found["told"]
    took = found["took"]
    print(
        f"{how}: {len(some)} mutants, {len(asks)} diaries, {len(reached)} reached, {took:.0f} s",
        flush=True,
    )
    some_caches = caches()
    hits: Counter[int] = Counter()
    rng = random.Random(22)
    for k, n in enumerate(some):
        fault = tried.faults[n]
        if fault.idle or fault.broken:
            tried.fates[n] = "broken" if fault.broken else "the same"
            continue
        if k not in reached and not fault.whole:
            continue
        tried.reached.add(n)
        order = [*range(len(asks))] if fault.whole else told.get(k, [])
        rng.shuffle(order)
        order.sort(key=lambda i: (-hits[i], not asks[i].table))
        went = _goes_apart(fault, some_caches, ways, order[:most])
        tried.fates[n] = "died" if went == DIED else HARMLESS if order else NEVER
        if went >= 0:
            hits[went] += 1
            tables = [i for i in order if asks[i].table]
            at_table = asks[went].table or _goes_apart(fault, some_caches, ways, tables) >= 0
            at_edge = how == "proof" and not at_table and _moves_apart(fault, some_caches)
            tried.fates[n] = "tables" if at_table else "edges" if at_edge else "unseen"
            if not (at_table or at_edge):
                tried.unseen.append(n)
                print(f"    unseen by tables: {_where(fault.mutant)}", flush=True)
    spent = time.process_time() - began + os.times().children_user
    print(
        f"{how}: done, {spent:.0f} s; {Counter(tried.fates[n] for n in some if n in tried.fates)}",
        flush=True,
    )


def _said(ask: Callable[[], bool]) -> bool:
    try:
        return ask()
    except Exception:  # whatever a mutant raises, it is no go
        return False


def _told(known: Faults, faults: list[Fault], ways: list[Callable[[], bool]]) -> object:
    """Which mutants change what a function returns, and on which diaries."""
    warnings.simplefilter("ignore")
    watch = Watch(known, faults)
    told: dict[int, list[int]] = {}
    for i, ask in enumerate(ways):
        went, found = watch.judge(ask)
        if i % 20 == 0:
            print(i, len(ways), time.process_time(), file=sys.__stderr__, flush=True)
        assert not went, f"diary {i} is a go under watch"
        for number, what in found.items():
            if what == CHANGED:
                told.setdefault(number, []).append(i)
    return {"reached": watch.reached(), "told": told, "took": time.process_time()}


def _goes_apart(
    fault: Fault, kept: list[Any], ways: list[Callable[[], bool]], order: list[int]
) -> int:
    """First of the diaries that is a go with this mutant, found in a process of its own."""
    if not order:
        return NO_GO
    found = apart(partial(_goes, fault, kept, ways, order), None)
    return found if isinstance(found, int) else DIED


def _goes(fault: Fault, kept: list[Any], ways: list[Callable[[], bool]], order: list[int]) -> int:
    _put(fault, kept)
    return next((i for i in order if _said(ways[i])), NO_GO)


def _put(fault: Fault, kept: list[Any]) -> None:
    warnings.simplefilter("ignore")
    signal.setitimer(signal.ITIMER_VIRTUAL, HANG_S)  # ends the process
    put(fault, change)
    for cache in kept:
        if cache is not sugar_grid._weighed or fault.mutant.module in OF_PROOF:
            cache.cache_clear()


def _moves_apart(fault: Fault, kept: list[Any]) -> bool:
    """Whether a mutant moves an edge that is written down, found in a process of its own."""
    return bool(apart(partial(_moves, fault, kept), None))


def _moves(fault: Fault, kept: list[Any]) -> bool:
    _put(fault, kept)
    try:
        written = test_edges.GOLDEN.read_text(encoding="utf-8").splitlines()
        return any(a != b for a, b in zip(test_edges.lines(), written, strict=True))
    except Exception:  # the test fails
        return True


def _where(mutant: Mutant) -> str:
    return f"{mutant.module}:{mutant.line}: {mutant.what}"


def _own_tests(mutant: Mutant) -> str:
    """What the tests of its module say; a module of the proof is tested with it."""
    tests = (mutant.module, "verdict.proof", "course.fold", "course.table", "course.judgement")
    for name in dict.fromkeys(tests):
        folder, _, subject = name.partition(".")
        there = (ROOT / "tests" / folder / f"test_{subject}.py").is_file()
        if there and folder in (mutant.module.split(".")[0], "verdict"):
            found = apart(partial(killed, (name,)), mutant)
            if found is None:
                return "took too long"
            if found:
                return "own tests"
    return "SURVIVES"


def report(tried: Tried) -> None:
    """Print what became of the mutants of each module."""
    for module in dict.fromkeys(fault.mutant.module for fault in tried.faults):
        own = [n for n, fault in enumerate(tried.faults) if fault.mutant.module == module]
        fates = Counter(tried.fates.get(n, "never reached") for n in own)
        print(f"{module:24s} {len(own):6d} {dict(fates.most_common())}", flush=True)
    fates = Counter(tried.fates.get(n, "never reached") for n in range(len(tried.faults)))
    print(f"{'all':24s} {len(tried.faults):6d} {dict(fates.most_common())}", flush=True)


def main() -> None:
    """Make, try, print."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("modules", nargs="*", default=[*MODULES])
    asked.add_argument("--every", type=int, default=1, help="try one mutant in so many")
    asked.add_argument("--diaries", type=int, default=100, help="on the edge of a go, of each kind")
    asked.add_argument("--most", type=int, default=40, help="diaries each mutant is judged on")
    asked.add_argument("--list", action="store_true", help="print what became of each mutant")
    given = asked.parse_args()
    os.chdir(ROOT)
    warnings.simplefilter("ignore")
    np.seterr(all="ignore")
    for module in MODULES:
        importlib.import_module(f"bubblerate.{module}")
    with made_once():
        known = Faults(MODULES)
        made = [m for module in given.modules for m in [*mutants(module)][:: given.every]]
        tried = Tried(faults=[known.of(mutant) for mutant in made])
        proven = [*_of_kept(), *islice(_near_a_go(), 2 * given.diaries)]
        attempt(tried, known, tried.left(OF_PROOF), proven, "proof", given.most)
        rows = [Edge(table_goes=one, table=True) for one in facts_rows()]
        rows += [Edge(table_goes=one, table=True) for one in edges()]
        attempt(tried, known, tried.left(OF_TABLE), rows, "table_goes", 10 * given.most)
        tried.again()
        cellar = [*_of_kept(), *_of_harm(), *islice(_made_worse(), given.diaries)]
        attempt(tried, known, tried.left(MODULES), cellar, "course", given.most)
        attempt(tried, known, tried.left(MODULES), cellar[::4], "judged", given.most)
    report(tried)
    for n, fault in enumerate(tried.faults if given.list else ()):
        print(f"{tried.fates.get(n, 'never reached'):14s} {_where(fault.mutant)}")
    for n in tried.unseen:
        mutant = tried.faults[n].mutant
        print(f"    {_own_tests(mutant)}: {_where(mutant)}", flush=True)


if __name__ == "__main__":
    main()
