"""All that can be said of a jar after the go, joined from one diary as of one moment."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from ..diary.settings import Settings
from ..physics.sulphite import Sulphite, sulphite
from ..verdict.judgement import Judgement, conclude, fit_situation, situation
from .checklist import Gate, Pressure, gate, pressure
from .label import original_gravity
from .standing import Standing, standing
from .steps import steps
from .volumes import Volumes, volumes

if TYPE_CHECKING:
    from datetime import datetime

    from ..diary.visit import Diary
    from .cellar_work import Step

__all__ = ["Outlook", "outlook"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Outlook:
    """Where a wine stands and what comes next.

    Attributes
    ----------
    at : datetime
        The moment asked about.
    stands : Standing
    racking : Judgement
    ph : float or None
    steps : tuple of Step
        Done first, then dated steps in order, then those without a day.
    gate : Gate
    pressure : Pressure or None
        None where no gravity was read.
    volumes : Volumes or None
        None where nobody noted how much wine there is.
    sulphite : Sulphite or None
        None where the pH is not known, or lies outside the published table.
    """

    at: datetime
    stands: Standing
    racking: Judgement
    ph: float | None
    steps: tuple[Step, ...]
    gate: Gate
    pressure: Pressure | None
    volumes: Volumes | None
    sulphite: Sulphite | None


def outlook(diary: Diary, *, at: datetime, settings: Settings | None = None) -> Outlook:
    """Say where a wine stands and what comes next.

    Parameters
    ----------
    diary : Diary
        Its rows; those later than `at` are not looked at.
    at : datetime
        The moment asked about, aware.
    settings : Settings, optional
        Waits, and what is known and was seen of each vessel.

    Returns
    -------
    Outlook
    """
    settings = settings if settings is not None else Settings()
    known = settings.vessel(diary.vessel)
    asked = situation(diary, at, settings)
    fit = fit_situation(asked)
    racking, bottling = conclude(asked, fit, "racking"), conclude(asked, fit, "bottling")
    stands = standing(diary.until(at), on=at.date(), known=known)
    checked = gate(bottling.verdict, bottling.gravity, stands, keeping=settings.keeping)
    return Outlook(
        at=at,
        stands=stands,
        racking=racking,
        ph=known.ph,
        steps=steps(racking, bottling, stands, checked, keeping=settings.keeping, known=known),
        gate=checked,
        pressure=pressure(bottling.gravity, og=original_gravity(stands, settings.hydrometer)),
        volumes=volumes(stands),
        sulphite=sulphite(ph=known.ph, litres=stands.litres),
    )
