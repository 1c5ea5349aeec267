"""Judgements and a label to draw, and what axes say they hold."""

from datetime import date

from matplotlib.axes import Axes

from bubblerate.course.balance import Middle
from bubblerate.course.judgement import Judgement, judge
from bubblerate.course.label import Label
from bubblerate.diary.settings_file import settings
from bubblerate.diary.visit import Diary

from scenes import EXAMPLES, evening

FULL_LABEL = Label(
    name="quince",
    year=2026,
    style="plum wine",
    litres=4.0,
    abv_pct=Middle(11.4, 11.7, 12.0),
    bottled_on=date(2026, 11, 30),
    drink_from=date(2027, 5, 30),
    best_by=date(2028, 11, 30),
    contains=("sulphite", "fish"),
    doubtful=(),
)


def judged(known: Diary, *, day: float | None = None) -> Judgement:
    """Asked on the last evening, or so many days after the first test evening."""
    at = evening(day) if day is not None else known.live[-1].when
    return judge(known, at=at, settings=settings(EXAMPLES))


def labels(ax: Axes) -> list[str]:
    return ax.get_legend_handles_labels()[1]


def handle(ax: Axes, label: str):
    handles, names = ax.get_legend_handles_labels()
    return handles[names.index(label)]
