"""Figures of one wine for its keeping: litres, sulphite, and what sugar left would press."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from ..physics.sulphite import Sulphite, sulphite_dose
from .label import original_gravity
from .pressure import Pressure, pressure
from .standing import Standing, standing
from .volumes import Volumes, volumes

if TYPE_CHECKING:
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
    pressure : Pressure or None
        None where no gravity was read.
    volumes : Volumes or None
        None where nobody noted how much wine there is.
    sulphite : Sulphite or None
        None where the pH is not known, or lies outside the published table.
    """

    stands: Standing
    ph: float | None
    pressure: Pressure | None
    volumes: Volumes | None
    sulphite: Sulphite | None


def figures(judgement: Judgement, *, settings: Settings) -> Figures:
    """Work out the figures of a wine.

    Parameters
    ----------
    judgement : Judgement
    settings : Settings
        Hydrometer, and what is known of each vessel.

    Returns
    -------
    Figures
    """
    known = settings.vessel(judgement.diary.vessel)
    stands = standing(judgement.diary, known=known)
    course = judgement.course
    clear = course is not None and course.facts.cellar.clear_on is not None
    og = original_gravity(stands, settings.hydrometer)
    return Figures(
        stands=stands,
        ph=known.ph,
        pressure=pressure(judgement.gravity, og=og),
        volumes=volumes(stands, clear=clear),
        sulphite=sulphite_dose(ph=known.ph, litres=stands.litres),
    )
