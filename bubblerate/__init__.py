"""Says when a home ferment is finished, from evening bubble counts and hydrometer readings.

Names are loaded when first used, so that ``import bubblerate`` costs next to nothing.

Examples
--------
>>> import bubblerate
>>> diary = bubblerate.read("examples/quince.csv")
>>> bubblerate.judge(diary, at=diary.live[-1].when).verdict.answer
'go'
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from .course.as_json import as_object
    from .course.judgement import Judgement, judge
    from .diary.folder import diaries
    from .diary.reading import read
    from .diary.settings import Settings
    from .diary.settings_file import settings
    from .diary.striking import strike
    from .diary.visit import Diary, Visit
    from .diary.writing import append, create
    from .errors import BubbleRateError
    from .shelf.backtest import replay
    from .shelf.coverage import in_hindsight
    from .shelf.many import forecast_many, judge_many
    from .shelf.tables import read_table, vessels
    from .show.pictures.residuals import plot_residuals
    from .show.pictures.shelf import plot_shelf
    from .show.pictures.tail import plot_gravity, plot_tail, save_tail
    from .show.verdict_text import as_text

__all__ = [
    "BubbleRateError",
    "Diary",
    "Judgement",
    "Settings",
    "Visit",
    "append",
    "as_object",
    "as_text",
    "create",
    "diaries",
    "forecast_many",
    "in_hindsight",
    "judge",
    "judge_many",
    "plot_gravity",
    "plot_residuals",
    "plot_shelf",
    "plot_tail",
    "read",
    "read_table",
    "replay",
    "save_tail",
    "settings",
    "strike",
    "vessels",
]
__version__ = "0.1.0"

_HOME = {
    "BubbleRateError": "errors",
    "Diary": "diary.visit",
    "Judgement": "course.judgement",
    "Settings": "diary.settings",
    "Visit": "diary.visit",
    "append": "diary.writing",
    "as_object": "course.as_json",
    "as_text": "show.verdict_text",
    "create": "diary.writing",
    "diaries": "diary.folder",
    "forecast_many": "shelf.many",
    "in_hindsight": "shelf.coverage",
    "judge": "course.judgement",
    "judge_many": "shelf.many",
    "plot_gravity": "show.pictures.tail",
    "plot_residuals": "show.pictures.residuals",
    "plot_shelf": "show.pictures.shelf",
    "plot_tail": "show.pictures.tail",
    "read": "diary.reading",
    "read_table": "shelf.tables",
    "replay": "shelf.backtest",
    "save_tail": "show.pictures.tail",
    "settings": "diary.settings_file",
    "strike": "diary.striking",
    "vessels": "shelf.tables",
}


def __getattr__(name: str) -> Any:
    if name not in _HOME:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f".{_HOME[name]}", __name__), name)


def __dir__() -> list[str]:
    return [*__all__, "__version__"]
