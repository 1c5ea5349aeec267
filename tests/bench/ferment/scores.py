"""What a bench of forecasts counts: how often intervals hold, how far dates are off, and CRPS.

A row is one evening of one ferment, as `score` makes it. Ferments weigh the same, however many
evenings they have, and intervals of the means come from a bootstrap over ferments.
"""

from __future__ import annotations

import math

import numpy as np
import pandas as pd
from numpy.typing import NDArray

__all__ = ["LEADS", "compare", "score", "straight_line", "table", "totals"]

Floats = NDArray[np.float64]

LEADS = [-math.inf, 1.5, 4.0, 9.0, math.inf]  # days, by the forecast
CAP_DAYS = 20.0  # an error beyond it is as bad as this
PAST_DAYS = -1.0  # a crossing longer ago is no more past than this
BOOTSTRAP = 2000


def score(draws: Floats, truth: float, line: float) -> dict[str, float]:
    """Score one forecast, all in days from the evening asked about.

    Parameters
    ----------
    draws : ndarray, shape (d,)
        Equally likely days of the crossing.
    truth, line : float
        The true day, and that of another's guess.
    """
    low95, low80, median, high80, high95 = np.quantile(
        draws, [0.025, 0.1, 0.5, 0.9, 0.975], method="hazen"
    )
    return {
        "forecast_lead": median,
        "in80": low80 <= truth <= high80,
        "in95": low95 <= truth <= high95,
        "early": truth < low80,
        "late": truth > high80,
        "error": abs(median - truth),
        "bias": median - truth,
        "width": high80 - low80,
        "line": abs(line - truth),
        "crps": _crps(_log_days(draws), float(_log_days(truth))),
        "line_crps": abs(float(_log_days(line) - _log_days(truth))),
    }


def _log_days(days: Floats | float) -> Floats:
    """Ln of two days more: half a day counts as much soon as a week does late."""
    return np.log(2.0 + np.clip(days, PAST_DAYS, 1000.0))


def _crps(draws: Floats, truth: float) -> float:
    """Continuous ranked probability score of a sample.

    T. Gneiting and A. E. Raftery, J. Am. Stat. Assoc. 102 (2007) 359 (from memory).
    """
    x, n = np.sort(draws), len(draws)
    apart = 2.0 * np.sum((2.0 * np.arange(1, n + 1) - n - 1.0) * x) / n**2
    return float(np.mean(np.abs(x - truth)) - 0.5 * apart)


def straight_line(days: Floats, per_min: Floats, threshold: float) -> float:
    """Crossing by least squares through log counts since the largest; inf if it never falls."""
    peak = int(np.argmax(per_min))
    heard = per_min[peak:] > 0.0
    t, y = days[peak:][heard], np.log(per_min[peak:][heard])
    if len(t) < 3:
        return math.inf
    slope, level = np.polyfit(t, y, 1)
    return (math.log(threshold) - level) / slope if slope < 0 else math.inf


def table(frame: pd.DataFrame, by: list[str]) -> pd.DataFrame:
    """Coverage and errors, one row a group; every ferment weighs the same."""
    frame = _weighed(frame, by)
    grouped = frame.groupby(by, observed=True)

    def mean(column: str) -> pd.Series:
        weight = grouped["w"].sum()
        total = (frame[column] * frame["w"]).groupby([frame[name] for name in by], observed=True)
        return total.sum() / weight

    frame = frame.assign(
        capped=frame["error"].clip(upper=CAP_DAYS), line_capped=frame["line"].clip(upper=CAP_DAYS)
    )
    shares = {name: mean(name).round(2) for name in ("in80", "in95", "early", "late")}
    medians = {f"{name}_d": grouped[name].median().round(2) for name in ("error", "bias", "width")}
    return pd.DataFrame(
        {
            "evenings": grouped.size(),
            **shares,
            **medians,
            "capped_d": mean("capped").round(2),
            "crps": mean("crps").round(3),
            "ratio": (grouped["error"].median() / grouped["line"].median()).round(2),
        }
    )


def totals(frame: pd.DataFrame) -> str:
    """Mean scores beside those of the straight line, with 90 % intervals over ferments."""
    lines = []
    for name, ours, theirs in (
        ("CRPS of ln(2 + days)", frame["crps"], frame["line_crps"]),
        ("error capped at 20 d", frame["error"].clip(upper=CAP_DAYS), frame["line"].clip(upper=20)),
    ):
        mean, low, high = _bootstrap(frame, ours - theirs)
        each = [_bootstrap(frame, one)[0] for one in (ours, theirs)]
        lines.append(
            f"{name}: {each[0]:.3f}, the line {each[1]:.3f}, less {-mean:.3f} "
            f"({-high:.3f} to {-low:.3f})"
        )
    ratio = frame["error"].median() / frame["line"].median()
    ratios = [
        some["error"].median() / some["line"].median() for some in _resampled(frame, times=200)
    ]
    low, high = np.quantile(ratios, [0.05, 0.95])
    lines.append(f"ratio of median errors: {ratio:.2f} ({low:.2f} to {high:.2f})")
    return "\n".join(lines)


def compare(frame: pd.DataFrame, before: pd.DataFrame) -> str:
    """The same evenings as they were forecast before: paired differences."""
    both = frame.merge(before, on=["kind", "seed", "day"], suffixes=("", "_before"))
    lines = [f"{len(both)} evenings in both"]
    for name in ("crps", "error"):
        now, then = (both[column].clip(upper=CAP_DAYS) for column in (name, f"{name}_before"))
        mean, low, high = _bootstrap(both, now - then)
        was = _bootstrap(both, then)[0]
        lines.append(f"{name}: was {was:.3f}, now {mean:+.3f} ({low:+.3f} to {high:+.3f})")
    return "\n".join(lines)


def _weighed(frame: pd.DataFrame, by: list[str]) -> pd.DataFrame:
    """With the weight `w` that gives each ferment of a group the same."""
    groups = list(dict.fromkeys([*by, "kind", "seed"]))
    return frame.assign(w=1.0 / frame.groupby(groups, observed=True)["crps"].transform("size"))


def _bootstrap(frame: pd.DataFrame, values: pd.Series) -> tuple[float, float, float]:
    """Mean over ferments and its 90 % interval."""
    each = values.groupby([frame["kind"], frame["seed"]], observed=True).mean().to_numpy()
    rng = np.random.default_rng(1)
    means = each[rng.integers(0, len(each), (BOOTSTRAP, len(each)))].mean(axis=1)
    low, high = np.quantile(means, [0.05, 0.95])
    return float(each.mean()), float(low), float(high)


def _resampled(frame: pd.DataFrame, *, times: int) -> list[pd.DataFrame]:
    """The frame with its ferments drawn anew."""
    rng = np.random.default_rng(1)
    parts = list(frame.groupby(["kind", "seed"], observed=True).indices.values())
    picks = rng.integers(0, len(parts), (times, len(parts)))
    return [frame.iloc[np.concatenate([parts[i] for i in pick])] for pick in picks]
