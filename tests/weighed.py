"""Lives of jars with the program's own sums instead of the stand-in of `crude`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from bubblerate.course.known import Weigher
from bubblerate.diary.settings import Settings, VesselSettings
from bubblerate.diary.visit import Diary, Visit
from bubblerate.verdict.judgement import fit_situation, situation

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bubblerate.course.inputs import About, Known
    from bubblerate.course.jar import Weigh

JAR = "jar"


def kept(rows: Sequence[Visit]) -> Diary:
    """The diary of a life."""
    return Diary(path=Path(f"{JAR}.csv"), vessel=JAR, visits=tuple(rows))


def said(about: About) -> Settings:
    """What its maker says of it, as settings."""
    own = VesselSettings(style=about.style, litres=about.litres, full_litres=about.full_litres)
    return Settings(vessels={JAR: own})


def by_proof(about: About) -> Weigh:
    """What the program makes of the rows of one life, which only grow."""
    found: dict[int, Known] = {}

    def weigh(rows: Sequence[Visit]) -> Known:
        if len(rows) not in found:
            asked = situation(kept(rows), rows[-1].when, said(about))
            found[len(rows)] = Weigher(situation=asked, fit=fit_situation(asked))(rows)
        return found[len(rows)]

    return weigh
