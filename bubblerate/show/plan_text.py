"""What comes after the go, as text for people; no sums here."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING

from ..course.volumes import BOTTLES_CL, FILTER_LITRES, bottles, measure
from ..physics.sulphite import PH_HIGH, PH_LOW
from ..text import beside, format_day, format_when, plain, plural
from ..verdict import cautions

if TYPE_CHECKING:
    from collections.abc import Iterator

    from ..course.cellar_work import Step
    from ..course.checklist import Line
    from ..course.plan import Outlook
    from ..course.volumes import Volumes

__all__ = ["outlook_text"]

_COLUMN = 21  # of dates and labels
_WAIT = "WAIT: every line must pass."
_MARKS = {"pass": "pass", "fail": "FAIL", "unknown": "unknown"}


def outlook_text(outlook: Outlook, *, width: int) -> str:
    """Write an outlook out for a person.

    Parameters
    ----------
    outlook : Outlook
    width : int
        Characters a line may hold.

    Returns
    -------
    str
        Several lines, no line end after the last.
    """
    stands = outlook.stands
    lines = [f"{stands.vessel}: what comes next  ({format_when(outlook.at)})", ""]
    lines += beside("stands", _stands(outlook), width=width)
    lines += beside("next", _next(outlook), width=width)
    done = [step for step in outlook.steps if step.state == "done"]
    due = [step for step in outlook.steps if step.state == "due"]
    for i, step in enumerate(done):
        lines += beside("done" if i == 0 else "", f"{_day(step)}  {step.title}", width=width)
    lines.append("")
    for step in due:
        lines += _step(step, width)
    if not stands.did("bottled"):
        lines += _checklist(outlook, width)
    for label, text in _figures(outlook):
        lines += beside(label, text, width=width)
    return "\n".join(lines)


def _stands(outlook: Outlook) -> str:
    """In a sentence, what the wine has behind it."""
    stands, v = outlook.stands, outlook.racking.verdict
    bottled = stands.last_day("bottled")
    if bottled is not None:
        return f"In the bottle since {format_day(bottled)}."
    racked = stands.did("racked")
    if not racked:
        return f"Not racked yet; the verdict on racking is {v.answer}. {v.reasons[0].text}"
    times = "once" if len(racked) == 1 else f"{len(racked)} times"
    said = f"Racked {times}, last on {format_day(racked[-1].when)}. "
    if stands.clear.on is not None:
        return said + f"Clear without new lees since {format_day(stands.clear.on)}."
    return said + "Not said to be clear."


def _next(outlook: Outlook) -> str:
    """The one next thing: the verdict's while it waits, then the first step with a day."""
    v, stands = outlook.racking.verdict, outlook.stands
    if not stands.did("racked") and v.answer == "wait" and not stands.did("bottled"):
        return f"{format_day(v.next.on or stands.asked_on)}: {v.next.do}"
    dated = (s for s in outlook.steps if s.state == "due" and s.on is not None)
    step = next((s for s in dated if not s.key.startswith("filtering")), None)  # that is a wish
    return "Look in now and then." if step is None else f"{_day(step)}: {step.title}."


def _step(step: Step, width: int) -> list[str]:
    """Day and title, then what to do, where the day comes from, and what to mind."""
    head = f"  {_day(step):<{_COLUMN}}  {step.title}"
    basis = f"[{step.basis}]" if step.on is not None else ""
    lines = [f"{head}  {basis}".rstrip()]
    if len(lines[0]) > width:
        lines = [head, f"{'':{_COLUMN + 4}}{basis}"]
    start = " " * (_COLUMN + 4)
    for mark, text in (("", step.how), *(("! ", care) for care in step.care)):
        hang = start + " " * len(mark)
        lines += textwrap.wrap(mark + text, width, initial_indent=start, subsequent_indent=hang)
    return lines


def _day(step: Step) -> str:
    if step.on is None:
        return "no day yet"
    if step.until is None:
        return format_day(step.on)
    return f"{format_day(step.on, year=False)} to {format_day(step.until)}"


def _checklist(outlook: Outlook, width: int) -> Iterator[str]:
    """Every line of the gate, and the pressure that stands behind it."""
    yield ""
    go = outlook.gate.answer == "go"
    yield "  Bottle it?  " + ("GO, if it neither tastes sweet nor prickles." if go else _WAIT)
    for line in outlook.gate.lines:
        yield from _line(line, width)
    if any(line.mark == "unknown" for line in outlook.gate.lines):
        text = f"What you have seen is written under [vessel.{outlook.stands.vessel}]."
        yield from textwrap.wrap(text, width, initial_indent="  ", subsequent_indent="  ")
    yield ""


def _line(line: Line, width: int) -> list[str]:
    start = f"  {_MARKS[line.mark]:<9}{line.name:<23}"
    return textwrap.wrap(line.text, width, initial_indent=start, subsequent_indent=" " * len(start))


def _figures(outlook: Outlook) -> Iterator[tuple[str, str]]:
    """Pressure, litres and sulphite; each where there is something to say."""
    if outlook.stands.did("bottled"):
        return
    p = outlook.pressure
    if p is None:
        yield "pressure", "Not known without gravity."
    else:
        whose = "by the readings" if p.abv_known else "taken as usual"
        yield (
            "pressure",
            f"If {p.points:.0f} points (with the error of a reading) fermented in a shut bottle: "
            f"about {p.cellar_bar:.1f} bar over the air at 20 C, {p.warm_bar:.1f} at 30 C, from "
            f"wine still full of gas, {p.abv_pct:.0f} % vol {whose}. Bottles for still wine are "
            "not made for pressure.",
        )
    yield from _litres(outlook)
    yield from _sulphite(outlook)


def _litres(outlook: Outlook) -> Iterator[tuple[str, str]]:
    v = outlook.volumes
    if v is None:
        yield "litres", "Not known: note them with an event (--litres 4.5) or in bubblerate.toml."
        return
    text = f"{measure(v.litres)}."
    if v.lost:
        text += " Lost so far: " + ", ".join(
            f"{loss.litres:.2f} L when {loss.event}" for loss in v.lost
        )
        text += "."
    yield "litres", text
    own = "as you set it" if outlook.stands.full_said else "the most it was noted to hold"
    yield "top up", _top_up(v, own)
    yield "to lose", _to_lose(v)
    for_bottles = ", or ".join(
        f"{_counted(bottles(v.in_bottle[0], size), bottles(v.in_bottle[1], size))} of {size} cl"
        for size in BOTTLES_CL
    )
    yield "bottles", f"{for_bottles}, if nothing is topped up."


def _top_up(v: Volumes, own: str) -> str:
    lacking = measure(v.top_up_litres) if v.top_up_litres > 0.0 else "Nothing"
    return (
        f"{lacking} to be full ({own}), {v.headspace_cm:.0f} cm under the bung [common practice]. "
        "With like wine: anything sweet wakes it."
    )


def _to_lose(v: Volumes) -> str:
    takers = [plural(v.rackings, "racking")] if v.rackings else []
    takers.append(plural(v.samples, "sample"))
    low, high = FILTER_LITRES
    return (
        f"{_range(v.to_lose)} L at {' and '.join(takers)} [from memory]; filtering takes {low} to "
        f"{high} L more. Keep a spare of {v.to_lose[1] + v.top_up_litres:.1f} L of like wine to "
        "top up with."
    )


def _sulphite(outlook: Outlook) -> Iterator[tuple[str, str]]:
    """Only for a wine that has done fermenting, as far as the verdict or a racking tells."""
    if not outlook.stands.did("racked") and outlook.racking.verdict.answer == "wait":
        return
    s = outlook.sulphite
    if s is not None:
        text = f"{s.mg_per_litre[0]:.0f} to {s.mg_per_litre[1]:.0f} mg/L free at pH "
        text += f"{plain(s.ph)}, good to 0.1 [published table]"
        if s.powder_g is not None:
            text += f": as much as {s.powder_g[0]:.2f} to {s.powder_g[1]:.2f} g of potassium "
            text += f"metabisulphite hold, in {plain(outlook.stands.litres or 0.0)} L"
        text += ". What was added before counts, and part is bound. Follow the packet."
    elif outlook.ph is not None:
        text = f"pH {plain(outlook.ph)} is outside the published table ({PH_LOW} to {PH_HIGH}): no "
        text += "figure is given. Follow the packet."
    else:
        text = "How much depends on the pH; set ph for a range. Follow the packet."
    yield "sulphite", text
    yield "", f"! {cautions.SULPHITE}"


def _range(pair: tuple[float, float]) -> str:
    return f"{pair[0]:.1f} to {pair[1]:.1f}"


def _counted(low: int, high: int) -> str:
    return f"{low}" if low == high else f"{low} to {high}"
