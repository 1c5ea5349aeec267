"""The numbers for keeping one wine: litres, sulphite, and pressure if sugar is left."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from ..diary.outcomes import Opened
from ..physics.sulphite import Sulphite, sulphite_dose
from .balance import Balance, Told, balance
from .pressure import Pressure, pressure
from .standing import Standing, standing
from .volumes import Volumes, volumes

if TYPE_CHECKING:
    from collections.abc import Callable

    from ..diary.settings import Settings
    from .judgement import Judgement

__all__ = ["Figures", "figures"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Figures:
    """Figures of one wine.

    Attributes
    ----------
    stands : Standing
    ph : float or None
    balance : Balance or None
        Strength and sugar; None if nothing tells them.
    pressure : Pressure or None
        None if no gravity was read.
    volumes : Volumes or None
        None if nobody noted how much wine there is.
    sulphite : Sulphite or None
        None if the pH is unknown, or outside the published table.
    """

    stands: Standing
    ph: float | None
    balance: Balance | None
    pressure: Pressure | None
    volumes: Volumes | None
    sulphite: Sulphite | None


def figures(
    judgement: Judgement,
    *,
    settings: Settings,
    of: Callable[[str], Opened | None] | None = None,
) -> Figures:
    """Work out the figures of a wine.

    Parameters
    ----------
    judgement : Judgement
    settings : Settings
        Hydrometer, and what is known about each vessel.
    of : callable, optional
        Diary of another jar, by its name, for wine that came from there.

    Returns
    -------
    Figures
    """
    known = settings.vessel(judgement.diary.vessel)
    stands = standing(judgement.diary, known=known)
    course = judgement.course
    clear = course is not None and course.facts.cellar.clear_on is not None
    jar = Opened(judgement.diary, settings, ())
    holds = balance(jar, at=judgement.verdict.asked_at, of=of)
    told = holds is not None and holds.start is not Told.USUAL
    return Figures(
        stands=stands,
        ph=known.ph,
        balance=holds,
        pressure=pressure(
            judgement.gravity, abv_pct=holds.abv_pct.middle if holds and told else None
        ),
        volumes=volumes(stands, clear=clear),
        sulphite=sulphite_dose(ph=known.ph, litres=stands.litres),
    )
