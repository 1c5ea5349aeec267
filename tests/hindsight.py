"""Evenings of a backtest with a known truth."""

from dataclasses import replace as changed

from bubblerate.shelf.backtest import Evening, Replay
from bubblerate.shelf.quiet_day import QuietDay

from scenes import evening

QUIET_DAY = QuietDay(
    watched_from=evening(0),
    watched_until=evening(30),
    since=evening(0),
    threshold_per_min=1.0,
    days=(0.0, 19.0, 21.0, 30.0),
    chances=(0.0, 0.0, 1.0, 1.0),
)


def asked(lead: float, *, error: float = 0.0, reach: float = 1.0, vessel: str = "fig") -> Evening:
    """An evening so many days before a fall on day 20, with a symmetric forecast."""
    expected = 20.0 + error
    return Evening(
        vessel=vessel,
        at=evening(20.0 - lead),
        fell_at=QUIET_DAY.about,
        low95=evening(expected - 2 * reach),
        low80=evening(expected - reach),
        median=evening(expected),
        high80=evening(expected + reach),
        high95=evening(expected + 2 * reach),
        go=False,
        early_go=False,
    )


def vessel(name: str, *evenings: Evening) -> Replay:
    named = tuple(changed(one, vessel=name) for one in evenings)
    return Replay(vessel=name, quiet_day=QUIET_DAY, evenings=named)
