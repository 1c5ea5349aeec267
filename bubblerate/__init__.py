"""Says when a home ferment is finished, from evening bubble counts and hydrometer readings.

Names are loaded when first used, so that ``import bubblerate`` costs next to nothing. Times are
aware; a library call asks about the last row of a diary unless a moment is given, a command about
now.

Examples
--------
>>> import bubblerate
>>> diary = bubblerate.read("examples/quince.csv")
>>> bubblerate.judge(diary)
<Judgement quince: go for racking, as of 14 Nov 2026 20:46>

A diary of one's own, written row by row; a row that was a mistake is struck and stays in the file:

>>> from datetime import UTC, datetime, timedelta
>>> from pathlib import Path
>>> from tempfile import mkdtemp
>>> shelf = Path(mkdtemp())
>>> begun = datetime(2026, 10, 1, 20, tzinfo=UTC)
>>> days = [begun + timedelta(days=n) for n in range(5)]
>>> bubblerate.create(shelf / "fig.csv", bubblerate.Visit(when=begun, event="pitched", litres=4.5))
>>> bubblerate.append(shelf / "fig.csv", bubblerate.Visit(when=days[1], bubbles=22))
3
>>> more = [bubblerate.Visit(when=when, bubbles=20) for when in days[2:]]
>>> bubblerate.extend(shelf / "fig.csv", more, held=bubblerate.read(shelf / "fig.csv").visits)
4
>>> bubblerate.strike(shelf / "fig.csv", 3, at=days[4]).struck
'2026-10-05T20:00:00+00:00'
>>> [jar] = bubblerate.diaries(shelf, bubblerate.settings(shelf))
>>> jar, len(jar.live)
(<Diary fig: 5 visits, 1 Oct 2026 to 5 Oct 2026>, 4)

Notes
-----
What may change before 1.0: names in modules that are not listed in `__all__` here or in
`bubblerate.physics`; the words of sentences, though not the codes beside them; dates and chances,
as the sums get better; and a name listed here may be renamed, with the old one kept for one
release. What never will: every diary that was ever written is read, its columns keep their names
and meaning, and nothing in it is rewritten.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from .course.as_json import as_object
    from .course.judgement import Judgement, judge
    from .diary.events import Event
    from .diary.folder import Unread, diaries
    from .diary.reading import read
    from .diary.settings import Settings
    from .diary.settings_file import settings
    from .diary.striking import strike
    from .diary.visit import Diary, Visit
    from .diary.writing import append, create, extend
    from .errors import BubbleRateError, ConfigError, DiaryError, InputError
    from .ferment.fit import Fit
    from .ferment.made_up import Ferment, simulate
    from .ferment.predict import predict_counts
    from .shelf.backtest import replay
    from .shelf.coverage import in_hindsight
    from .shelf.many import forecast_many, judge_many
    from .shelf.tables import read_table, vessels
    from .show.pictures.gravity import plot_gravity
    from .show.pictures.residuals import plot_residuals
    from .show.pictures.shelf import plot_shelf
    from .show.pictures.tail import plot_tail, save_tail
    from .show.verdict_text import as_text

__all__ = [
    "BubbleRateError",
    "ConfigError",
    "Diary",
    "DiaryError",
    "Event",
    "Ferment",
    "Fit",
    "InputError",
    "Judgement",
    "Settings",
    "Unread",
    "Visit",
    "append",
    "as_object",
    "as_text",
    "create",
    "diaries",
    "extend",
    "forecast_many",
    "in_hindsight",
    "judge",
    "judge_many",
    "plot_gravity",
    "plot_residuals",
    "plot_shelf",
    "plot_tail",
    "predict_counts",
    "read",
    "read_table",
    "replay",
    "save_tail",
    "settings",
    "simulate",
    "strike",
    "vessels",
]
__version__ = "0.1.0"

_HOME = {
    "BubbleRateError": "errors",
    "ConfigError": "errors",
    "Diary": "diary.visit",
    "DiaryError": "errors",
    "Event": "diary.events",
    "Ferment": "ferment.made_up",
    "Fit": "ferment.fit",
    "InputError": "errors",
    "Judgement": "course.judgement",
    "Settings": "diary.settings",
    "Unread": "diary.folder",
    "Visit": "diary.visit",
    "append": "diary.writing",
    "as_object": "course.as_json",
    "as_text": "show.verdict_text",
    "create": "diary.writing",
    "diaries": "diary.folder",
    "extend": "diary.writing",
    "forecast_many": "shelf.many",
    "in_hindsight": "shelf.coverage",
    "judge": "course.judgement",
    "judge_many": "shelf.many",
    "plot_gravity": "show.pictures.gravity",
    "plot_residuals": "show.pictures.residuals",
    "plot_shelf": "show.pictures.shelf",
    "plot_tail": "show.pictures.tail",
    "predict_counts": "ferment.predict",
    "read": "diary.reading",
    "read_table": "shelf.tables",
    "replay": "shelf.backtest",
    "save_tail": "show.pictures.tail",
    "settings": "diary.settings_file",
    "simulate": "ferment.made_up",
    "strike": "diary.striking",
    "vessels": "shelf.tables",
}


def __getattr__(name: str) -> Any:
    if name not in _HOME:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f".{_HOME[name]}", __name__), name)


def __dir__() -> list[str]:
    return [*__all__, "__version__"]
