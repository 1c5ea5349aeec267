"""The words that every screen shares: kinds of step, phases, questions."""

from __future__ import annotations

from enum import StrEnum

__all__ = ["Kind", "Phase", "Question"]


class Kind(StrEnum):
    """What a next step is; the nineteen kinds there are."""

    ANSWER = "answer"
    COUNT = "count"
    BUNG = "bung"
    READ = "read"
    WARM = "warm"
    ROUSE = "rouse"
    RESTART = "restart"
    RACK = "rack"
    TOP_UP = "top-up"
    LOOK = "look"
    CHILL = "chill"
    FINE = "fine"
    STABILISE = "stabilise"
    BOTTLE = "bottle"
    RESCUE = "rescue"
    LAY = "lay"
    WATCH = "watch"
    DRINK = "drink"
    NOTHING = "nothing"


class Phase(StrEnum):
    """Where in its life a jar is."""

    FERMENTING = "fermenting"
    CLEARING = "clearing"
    BOTTLED = "bottled"
    EMPTY = "empty"


class Question(StrEnum):
    """What may be asked of a jar: to rack it, or to bottle it."""

    RACKING = "racking"
    BOTTLING = "bottling"

    @property
    def act(self) -> Kind:
        """The step that answers it with yes."""
        return Kind.RACK if self is Question.RACKING else Kind.BOTTLE
