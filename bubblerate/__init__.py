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
    from .backtest import replay
    from .config import Settings
    from .config_file import settings
    from .coverage import in_hindsight
    from .diary import Diary, Visit, read
    from .entry import append, create, strike
    from .errors import BubbleRateError
    from .frames import read_table, vessels
    from .jars import diaries
    from .many import forecast_many, judge_many
    from .plot import plot_gravity, plot_tail, save_tail
    from .report import as_object, as_text
    from .residualplot import plot_residuals
    from .shelf import Judgement, judge
    from .shelfplot import plot_shelf

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
    "Diary": "diary",
    "Judgement": "shelf",
    "Settings": "config",
    "Visit": "diary",
    "append": "entry",
    "as_object": "report",
    "as_text": "report",
    "create": "entry",
    "diaries": "jars",
    "forecast_many": "many",
    "in_hindsight": "coverage",
    "judge": "shelf",
    "judge_many": "many",
    "plot_gravity": "plot",
    "plot_residuals": "residualplot",
    "plot_shelf": "shelfplot",
    "plot_tail": "plot",
    "read": "diary",
    "read_table": "frames",
    "replay": "backtest",
    "save_tail": "plot",
    "settings": "config_file",
    "strike": "entry",
    "vessels": "frames",
}


def __getattr__(name: str) -> Any:
    if name not in _HOME:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f".{_HOME[name]}", __name__), name)


def __dir__() -> list[str]:
    return [*__all__, "__version__"]
