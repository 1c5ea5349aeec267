"""Small faults in every module of verdict/ and course/: does any bring a wrong go, unseen?

The mutants are those of `mutants.py`. Each is put to diaries that wait on the edge of a go: those
of `monotone.py` that lack one thing, or that wait because one thing was made worse. One that says
go there is *harmful*. The tables of harm (`harms`, `kept`) judge next: a mutant that turns one of
their waits into a go is killed. What survives them is put to the tests of its own module, and
printed if it survives those too. The modules of the proof are put to it without the course, at a
tenth of the cost. Fits are made once, before any mutant, and the days of readings to come are left
out of the course, for no go rests on them.

Run: python tests/bench/verdict/wrong_goes.py [module ...] [--every K] [--diaries N]
"""

from __future__ import annotations

import argparse
import os
import sys
import tempfile
from collections import Counter
from functools import partial
from itertools import count, islice
from pathlib import Path
from typing import TYPE_CHECKING
from unittest.mock import patch

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # what benches and tests share

from bubblerate.course.judgement import judge
from bubblerate.diary.settings_file import settings as settings_in
from bubblerate.verdict.lacks import lacks
from bubblerate.verdict.proof import evidence_for_bottling
from bubblerate.verdict.reasons import Question
from bubblerate.verdict.sugar_grid import weigh

from bench.verdict.monotone import answer, changed, drawn, fitted_once, moment_of, settings_of
from bench.verdict.mutants import PACKAGE, ROOT, Mutant, apart, killed, mutants
from cases import PITCHED, SAID
from harms import HARM, RACKED
from kept import HURTS
from scenes import diary, evening

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from bubblerate.diary.settings import Settings

    from bench.verdict.monotone import Drawn
    from kept import Kept, Row

MOST_OF_A_KIND = 4
OF_PROOF = (
    *("proof", "lacks", "sugar_grid", "sugar_odds", "sugar_evidence"),
    *("stood", "noted", "seen", "acts"),
)
NO_ANSWER = (  # words, figures and steps after the answer: none of them says go
    *("verdict.sentences", "verdict.proof_words", "verdict.cautions", "verdict.reasons"),
    *("course.words", "course.because", "course.label", "course.as_json", "course.figures"),
    *("course.pressure", "course.ripening", "course.standing", "course.windows", "course.ahead"),
)
MODULES = tuple(
    f"{folder}.{path.stem}"
    for folder in ("verdict", "course")
    for path in sorted((PACKAGE / folder).glob("*.py"))
    if path.stem != "__init__" and f"{folder}.{path.stem}" not in NO_ANSWER
)


def _of_proof(one: Drawn) -> str:
    known = evidence_for_bottling(diary(*one.rows), at=moment_of(one), settings=settings_of(one))
    return "" if lacks(known, weigh(known)) else "bottling"


def _of_course(one: Drawn) -> str:
    return answer(one).go


def _kept_of_proof(jar: Kept, own: Settings) -> str:
    at = evening(max(row["day"] for row in jar.rows) + jar.later)
    known = evidence_for_bottling(diary(*jar.rows), at=at, settings=own)
    return "" if lacks(known, weigh(known)) else "bottling"


def _go(rows: list[Row], later: float, own: Settings, question: str) -> str:
    rows = sorted(rows, key=lambda row: row["day"])
    at = evening(max(0.0, rows[-1]["day"]) + later)
    judged = judge(diary(*rows), at=at, settings=own)
    assert judged.course is not None
    return question if judged.course.go(Question(question)) else ""


def _settings(toml: str) -> Settings:
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "bubblerate.toml").write_text(toml)
        return settings_in(Path(folder))


def probe(of_proof: bool, diaries: int) -> list[Callable[[], str]]:
    """Ask of diaries that wait, and would not but for one thing."""
    if of_proof:
        return [partial(_of_proof, one) for one in islice(_near_a_go(), diaries)]
    return [partial(_of_course, one) for one in islice(_made_worse(), diaries)]


def _made_worse() -> Iterator[Drawn]:
    """What waits because one thing of a jar that is a go was made worse, few of each kind."""
    kinds: Counter[tuple[str, str]] = Counter()
    for n in count():
        one = drawn(n)
        go = _of_course(one)
        for name, two in changed(one) if go else ():
            kind = go, name.partition(":")[0]
            if kinds[kind] < MOST_OF_A_KIND and not _of_course(two):
                kinds[kind] += 1
                yield two


def _near_a_go() -> Iterator[Drawn]:
    return (one for n in count() if (one := drawn(n)).name != "slowing" and _lacking(one) == 1)


def _lacking(one: Drawn) -> int:
    known = evidence_for_bottling(diary(*one.rows), at=moment_of(one), settings=settings_of(one))
    return len({lack.check for lack in lacks(known, weigh(known))})


def harms(of_proof: bool) -> list[Callable[[], str]]:
    """Ask of the tables of harm."""
    jars = [(jar, _settings(jar.settings)) for jar, _ in HURTS.values()]
    if of_proof:
        return [partial(_kept_of_proof, jar, own) for jar, own in jars]
    eves = [partial(_go, jar.rows, jar.later, own, "bottling") for jar, own in jars]
    return [*eves, *_of_harm()]


def _of_harm() -> Iterator[Callable[[], str]]:
    for _, rows, toml, ons in HARM:
        for on in ons:
            eve = on == "bottling" and rows[0] is PITCHED
            yield partial(_go, [*rows, *SAID, RACKED] if eve else rows, 0.2, _settings(toml), on)


def said(asks: list[Callable[[], str]]) -> list[str]:
    """Answer of each; what raises is no go."""
    return [_said(ask) for ask in asks]


def _said(ask: Callable[[], str]) -> str:
    try:
        return ask()
    except Exception:  # whatever a mutant raises, it is no go
        return ""


def fate(asks: list[Callable[[], str]], judges: list[Callable[[], str]]) -> str:
    """What becomes of the mutant at hand, of asks and judges that all wait without it."""
    if not any(_said(ask) for ask in asks):
        return ""
    return "tables" if any(_said(judge) for judge in judges) else "unseen by tables"


def report(module: str, *, every: int, diaries: int) -> None:
    """Try the mutants of one module."""
    of_proof = module.removeprefix("verdict.") in OF_PROOF
    asks = probe(of_proof, diaries)
    judges = [judge for judge in harms(of_proof) if not _said(judge)]
    assert not any(said(asks))
    tried = 0
    fates: Counter[str] = Counter()
    for mutant in [*mutants(module)][::every]:
        tried += 1
        found = apart(partial(fate, asks, judges), mutant)
        if not found:  # harmless, or it died
            continue
        if found != "tables":
            found = _own_tests(mutant)
            print(f"    {found}: {module}:{mutant.line}: {mutant.what}", flush=True)
        fates[str(found)] += 1
    print(
        f"{module:24s} {tried:6d} tried {fates.total():5d} harmful {dict(fates)}"
        f"   ({len(asks)} diaries, {len(judges)} of harm)",
        flush=True,
    )


def _own_tests(mutant: Mutant) -> str:
    """What the tests of its module say; a module of the proof is tested with it."""
    tests = (mutant.module, "verdict.proof", "course.fold", "course.table")
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


def main() -> None:
    """Make, try, print."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("modules", nargs="*", default=[*MODULES])
    asked.add_argument("--every", type=int, default=1, help="try only every so manieth mutant")
    asked.add_argument("--diaries", type=int, default=100)
    given = asked.parse_args()
    os.chdir(ROOT)
    with fitted_once(), patch("bubblerate.course.known.earliest", lambda _: None):
        for module in given.modules:
            report(module, every=given.every, diaries=given.diaries)


if __name__ == "__main__":
    main()
