"""Judgements to draw, and what axes say they hold."""

from matplotlib.axes import Axes

from bubblerate.diary.settings_file import settings
from bubblerate.diary.visit import Diary
from bubblerate.verdict.judgement import Judgement, judge

from scenes import EXAMPLES, evening


def judged(known: Diary, *, day: float | None = None) -> Judgement:
    """Asked on the last evening, or so many days after the first test evening."""
    at = evening(day) if day is not None else known.live[-1].when
    return judge(known, at=at, settings=settings(EXAMPLES))


def labels(ax: Axes) -> list[str]:
    return ax.get_legend_handles_labels()[1]


def handle(ax: Axes, label: str):
    handles, names = ax.get_legend_handles_labels()
    return handles[names.index(label)]
