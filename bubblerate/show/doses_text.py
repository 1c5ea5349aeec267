"""Words doses: grams and tablets as ranges, with sources and cautions; no sums here."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from ..course.doses import tablets
from ..diary.places import typed_again
from ..physics.constants import TABLET_G
from ..physics.doses import SORBIC_MG_PER_LITRE, finings_ml
from ..physics.sulphite import PH_HIGH, PH_LOW, SO2_MOST_MG_PER_LITRE
from ..text import beside, format_day, plain, unbroken
from ..verdict import cautions
from .balance_text import span_text

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from pathlib import Path

    from ..course.balance import Balance
    from ..course.doses import Stabilising, Sweetening
    from ..course.sparkling import Priming
    from ..physics.sulphite import Sulphite

__all__ = [
    "FIRST_THE_PACKET",
    "finings_lines",
    "put_in_texts",
    "sparkle_lines",
    "stabilise_lines",
    "sulphite_text",
    "sweeten_lines",
]

FIRST_THE_PACKET: Final = "The packet and your local law come before all of this."
_HOLD_DAYS: Final = 14
_CROWN: Final = ("--sparkling", "--bottles", "8x50cl", "--closure", "crown")


def sulphite_text(sulphite: Sulphite | None, *, ph: float | None, litres: float | None) -> str:
    """Write sulphite by pH, in mg/L, grams and tablets; or why there is no number."""
    if sulphite is None and ph is not None:
        return (
            f"pH {plain(ph)} is outside the published table ({PH_LOW} to {PH_HIGH}): no figure is "
            "given. Follow the packet."
        )
    if sulphite is None:
        return "How much depends on the pH: set it with about --ph for a range. Follow the packet."
    low, high = sulphite.mg_per_litre
    text = f"{low:.0f} to {high:.0f} mg/L free at pH {plain(sulphite.ph)}, good to 0.1 "
    text += "[published table]"
    measured = sulphite.measured_mg_per_litre
    if sulphite.powder_g is not None:
        low, high = sulphite.powder_g
        if high <= 0.0:
            return f"{text}: the {plain(measured or 0.0)} mg/L measured is enough."
        grams = f"{low:.2f} to {high:.2f} g of potassium metabisulphite"
        few, many = tablets(sulphite.powder_g)
        counted = f"{few:.1f} to {many:.1f} tablets of {TABLET_G} g, for {plain(litres or 0.0)} L"
        if measured is not None:
            text += f", {plain(measured)} of it already measured"
        text += f": {grams}, or {counted}"
    part = "Sulphite added earlier counts towards this, and part" if measured is None else "Part"
    return f"{text}. {part} of it is bound. Follow the packet."


def put_in_texts(holds: Balance | None, *, sorbate: bool = True) -> list[str]:
    """Write what was put in before, as far as known: sulphite, and sorbate if asked."""
    if holds is None:
        return []
    texts = []
    if holds.so2_mg_per_litre.middle > 0.0:
        texts.append(
            f"{span_text(holds.so2_mg_per_litre, 0)} mg/L of SO2 in all, bound or free. Part binds "
            "at once and more is lost with time and air: a test for free SO2 shows what is left."
        )
    if sorbate and holds.sorbic_mg_per_litre.middle > 0.0:
        texts.append(f"{span_text(holds.sorbic_mg_per_litre, 0)} mg/L of sorbic acid.")
    texts.extend(
        f"{dose.what} went into {dose.vessel} on {format_day(dose.on)}, but no amount was noted: "
        "add that to it."
        for dose in holds.unweighed
        if sorbate or dose.what == "sulphite"
    )
    return texts


def hold_text(dosed: Stabilising) -> str:
    """Where the hold after stabilising stands; empty if there is none."""
    if dosed.hold_until is None or dosed.hold_day is None:
        return ""
    if dosed.hold_day >= _HOLD_DAYS:
        return f"over since {format_day(dosed.hold_until)}"
    left = _HOLD_DAYS - dosed.hold_day
    return (
        f"day {dosed.hold_day} of {_HOLD_DAYS}, {left} to go: read it on "
        f"{format_day(dosed.hold_until)}"
    )


def stabilise_lines(
    dosed: Stabilising,
    holds: Balance | None,
    *,
    path: Path,
    ph: float | None,
    litres: float | None,
    sorbate: bool,
    width: int,
) -> list[str]:
    """Write sulphite, and sorbate if asked for."""
    told = [("added", text) for text in put_in_texts(holds, sorbate=sorbate)]
    told.append(("sulphite", sulphite_text(dosed.sulphite, ph=ph, litres=litres)))
    cares = [cautions.SULPHITE]
    cares += _too_much(dosed, path)
    powder_g = None if dosed.sulphite is None else dosed.sulphite.powder_g
    amounts = ["--sulphite", _middle_g(powder_g, '"1 tablet"')]
    if sorbate:
        amounts += ["--sorbate", _middle_g(dosed.sorbate_g, "1g")]
        told += [
            ("sorbate", _sorbate(dosed.sorbate_g)),
            (
                "then",
                f"write it down: {_event(path, 'stabilised', *amounts)}, with what you used. Leave "
                "it 14 days [common practice].",
            ),
        ]
        cares.append(
            "Sorbate after malolactic fermentation smells of geraniums: use sulphite alone then."
        )
    else:
        line = _event(path, "sulphited", *amounts)
        told.append(("then", f"write it down: {line}, with what you used."))
    if hold := hold_text(dosed):
        told.append(("wait", hold))
    return _lines(told, cares, width)


def _middle_g(grams: tuple[float, float] | None, usual: str) -> str:
    """The middle of two amounts [g] as it is typed, or a usual one where none is worked out."""
    return usual if grams is None or grams[1] <= 0.0 else f"{sum(grams) / 2.0:.2f}g"


def _too_much(dosed: Stabilising, path: Path) -> Iterator[str]:
    """Warn if this dose and those before may be more than is allowed."""
    most = dosed.so2_most_mg_per_litre
    if most is not None and most > SO2_MOST_MG_PER_LITRE:
        yield (
            f"With that it may hold {most:.0f} mg/L in all, and {SO2_MOST_MG_PER_LITRE:.0f} is "
            "the most in fruit wine, cider, perry and mead [EU 1333/2008, from memory]. Measure "
            f"what is free first: {_typed(path, 'dose', 'sulphite', '--free', '15')}"
        )


def _sorbate(grams: tuple[float, float]) -> str:
    low, high = grams
    few, many = SORBIC_MG_PER_LITRE
    if high <= 0.0:
        return f"None: it may already hold {many:.0f} mg/L of sorbic acid, the most allowed."
    much = f"{low:.2f} to {high:.2f}" if low > 0.0 else f"It holds enough; no more than {high:.2f}"
    return (
        f"{much} g of potassium sorbate: {few:.0f} to {many:.0f} mg/L of sorbic acid in all, never "
        f"more [OIV 3.4.5 and EU 2019/934, from memory]. Use it only with sulphite, in "
        "clear, racked wine: it kills no yeast and stops no ferment [university extension]."
    )


def sweeten_lines(sugar: Sweetening, *, path: Path, width: int) -> list[str]:
    """Write how much sugar, what the wine should read after it, and in which order to work."""
    low, high = sugar.sugar_g
    told = [
        (
            "sugar",
            f"{low:.0f} to {high:.0f} g, dissolved in a little of the wine [mass balance, sucrose "
            "tables]. Sweeten a glass first and scale up. Stop when it tastes right.",
        ),
        ("reads", f"about {sugar.sg:.3f} after that, {sugar.litres:.2f} L."),
        (
            "write",
            f"{_event(path, 'sweetened', '--sugar', f'{(low + high) / 2.0:.0f}g')}, with the grams "
            "you used. Then read the gravity.",
        ),
    ]
    cares = [cautions.BURST]
    if not sugar.held:
        told.insert(
            0,
            (
                "first",
                "It is not stabilised: the yeast will ferment this sugar, and bottles will burst. "
                "Stabilise it and leave it 14 days, then sweeten it and leave it 14 days more.",
            ),
        )
    elif sugar.hold_until is not None:
        day = format_day(sugar.hold_until)
        text = f"Wait until {day}, 14 days after it was stabilised, and read it: has it moved?"
        told.insert(0, ("first", text))
    return _lines(told, cares, width)


def sparkle_lines(primed: Priming, *, path: Path, width: int) -> list[str]:
    """Write the sugar for a pressure, and what the pressure may become."""
    low, high = primed.bar
    told = [
        (
            "sugar",
            f"{primed.sugar_g:.0f} g in all, {primed.g_per_litre:.1f} g/L, stirred in evenly "
            "[Balling's yield, CO2 in wine by the EU method].",
        ),
        (
            "pressure",
            f"{max(low, 0.0):.1f} bar above the air at 20 C if the wine is free of gas. Up to "
            f"{high:.1f} if it is full of gas and its last sugar ferments too.",
        ),
        (
            "bottles",
            "beer bottles with crown caps, said to hold 2.7 bar [an amateur site; no standard was "
            "found]. No chips or scratches. One plastic bottle as a tell-tale.",
        ),
        (
            "then",
            (
                "14 days in the warm, squeezing the plastic bottle daily; then move them somewhere "
                "cool."
            ),
        ),
        (
            "write",
            f"{_event(path, 'bottled', '--sugar', f'{primed.sugar_g:.0f}g', *_CROWN)}, with what "
            "you filled.",
        ),
    ]
    return _lines(
        told, [cautions.BURST, ("Wear goggles and gloves whenever you move a full bottle.")], width
    )


def finings_lines(litres: float | None, *, path: Path, width: int) -> list[str]:
    """Write two-part finings for this much wine."""
    each, used = "2.5 mL of each in a jar of 4.5 L", "2.5ml"
    if litres is not None:
        each = f"{finings_ml(litres):.1f} mL of each in {plain(litres)} L"
        used = f"{finings_ml(litres):.1f}ml"
    told = [
        (
            "first",
            (
                "Test a glass to see what kind of haze it is: "
                f"{_typed(path, 'guide', '--on', 'haze')}"
            ),
        ),
        (
            "two-part",
            f"{each} [common practice]: stir in the first, wait half an hour, stir in the second. "
            "It should clear in about three days, two weeks at most.",
        ),
        ("then", "Rack it off them as soon as it is clear."),
        (
            "write",
            f"{_event(path, 'fined', '--two-part', '--finings', used)}, with --note for what they "
            "are.",
        ),
    ]
    return _lines(told, [cautions.FININGS], width)


def _event(path: Path, *words: str) -> str:
    """The line that writes down what was done."""
    return _typed(path, "event", *words)


def _typed(path: Path, *words: str) -> str:
    return unbroken(typed_again(path, *words))


def _lines(told: Iterable[tuple[str, str]], cares: Iterable[str], width: int) -> list[str]:
    lines = [line for label, text in told for line in beside(label, text, width=width)]
    for care in (FIRST_THE_PACKET, *cares):
        lines += beside("", f"! {care}", width=width)
    return lines
