"""Prints every published value that the physics is tested against, with ours.

Differences are in units of the last printed digit of the source. A value worked out independently
and not printed anywhere has a star. Sources are at the top of each file in tests/reference.

Run: python tests/bench/physics/tables.py
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from bubblerate.physics import alcohol, hydrometer, scales
from bubblerate.physics.airlock import air_pressure_hpa
from bubblerate.physics.bottle import bottle_pressure, sparkle
from bubblerate.physics.constants import CO2_G_PER_MOL, CO2_PER_EXTRACT, CO2_PER_HEXOSE
from bubblerate.physics.ethanol import ethanol_water_kg_m3
from bubblerate.physics.gas import (
    dry_pressure_hpa,
    water_holds_g_per_litre_bar,
    wet_gas_ml,
    wine_holds_g_per_litre_bar,
)
from bubblerate.physics.water import vapour_pressure_hpa, water_density_kg_m3

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

REFERENCE = Path(__file__).resolve().parents[2] / "reference"
ATM_BAR = 1.01325
HEXOSE_PER_SUCROSE = 2 * 180.156 / 342.297  # g/g, CIAAW abridged weights (from memory)
CO2_LITRES_PER_MOL = 22.263  # real gas at 0 C and 1 atm (from memory)


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One published number as it is printed, and ours."""

    source: str
    what: str
    published: str
    ours: float

    @property
    def last_digits(self) -> float:
        """Ours less the published, in units of its last printed digit."""
        decimals = len(self.published.partition(".")[2])
        return (self.ours - float(self.published)) * 10.0**decimals


def table(name: str) -> list[dict[str, str]]:
    """Rows of a file of tests/reference, each cell as it is printed there."""
    with (REFERENCE / name).open(encoding="utf-8") as lines:
        return list(csv.DictReader(line for line in lines if not line.startswith("#")))


def water() -> Iterator[Row]:
    """Density of water."""
    for r in table("water_density.csv"):
        ours = water_density_kg_m3(float(r["temp_c"]))
        what = f"water at {r['temp_c']} C, kg/m3"
        yield Row(source="Tanaka 2001", what=what, published=r["kg_m3"], ours=ours)


def stem() -> Iterator[Row]:
    """Corrections of a hydrometer, within the validity of the water formula."""
    for r in table("hydrometer.csv"):
        cal, temp = float(r["calibration_c"]), float(r["temp_c"])
        if temp > 40.0:
            continue
        reading = 1.0 if r["source"] == "leaflet" else 1.0 - 0.001 * float(r["points"])
        added = hydrometer.corrected_sg(reading, temp, calibration_c=cal) - reading
        source = "stem leaflet" if r["source"] == "leaflet" else "*stem, ISO 1768"
        what = f"{cal:g} C stem at {temp:g} C, points"
        yield Row(source=source, what=what, published=r["points"], ours=1000.0 * added)


def sucrose() -> Iterator[Row]:
    """Gravity, density and grams a litre of sugar solutions."""
    for r in table("sucrose_brix_sg.csv"):
        sg = scales.sg_from_brix(float(r["brix"]))
        for source, column, ours, unit in (
            ("CRC sucrose", "crc_kg_m3", hydrometer.kg_m3_from_sg(sg), "kg/m3"),
            ("CRC sucrose g/L", "crc_g_per_litre", scales.g_per_litre_from_sg(sg), "g/L"),
            ("USDA sucrose", "usda_sg", sg, "SG 20/20"),
        ):
            if r[column]:
                what = f"{r['brix']} Brix, {unit}"
                yield Row(source=source, what=what, published=r[column], ours=ours)


def ethanol() -> Iterator[Row]:
    """Density of ethanol and water; strength from gravities."""
    for r in table("ethanol_water_density.csv"):
        fraction = float(r["mass_pct"]) / 100.0
        ours = ethanol_water_kg_m3(fraction, float(r["temp_c"]))
        what = f"{r['abv']} % vol at {r['temp_c']} C, kg/m3"
        if r["printed_kg_m3"]:
            yield Row(source="OIML R 22", what=what, published=r["printed_kg_m3"], ours=ours)
        yield Row(source="*OIML R 22 formula", what=what, published=r["formula_kg_m3"], ours=ours)
    for r in table("alcohol_bands.csv"):
        points = (float(r["fall_low"]) + float(r["fall_high"])) / 2.0
        ours = alcohol.abv_from_sg(1.005 + points / 1000.0, 1.005) / points
        what = f"{points:.1f} points to 1.005, % vol a point"
        # from memory, and meant for beer
        yield Row(source="*UK beer duty", what=what, published=r["abv_per_point"], ours=ours)


def vapour() -> Iterator[Row]:
    """Pressure of water vapour."""
    for r in table("water_vapour.csv"):
        ours = 100.0 * vapour_pressure_hpa(float(r["temp_c"]))
        what = f"vapour at {r['temp_c']} C, Pa"
        yield Row(source="Perry, IAPWS", what=what, published=r["pa"], ours=ours)


def stoichiometry() -> Iterator[Row]:
    """CO2 of sugar."""
    dry_ml = {
        t: wet_gas_ml(CO2_PER_HEXOSE, temp_c=t) * dry_pressure_hpa(t, 1013.25) / 1013.25
        for t in (0.0, 20.0)
    }
    ours = {
        ("gay_lussac", "co2", "100 g hexose"): 100 * CO2_PER_HEXOSE,
        ("gay_lussac", "co2", "100 g sucrose"): 100 * HEXOSE_PER_SUCROSE * CO2_PER_HEXOSE,
        ("pasteur", "co2", "100 g hexose"): 100 * CO2_PER_EXTRACT,
        ("balling", "co2", "2.0665 g extract"): 2.0665 * CO2_PER_EXTRACT,
        ("balling", "co2", "100 g extract"): 100 * CO2_PER_EXTRACT,
        ("recomputed", "co2", "1 g hexose"): CO2_PER_HEXOSE,
        ("recomputed", "dry gas at 0 C", "1 g hexose"): dry_ml[0.0],
        ("recomputed", "dry gas at 20 C", "1 g hexose"): dry_ml[20.0],
    }
    for r in table("stoichiometry.csv"):
        source = "*atomic weights" if r["source"] == "recomputed" else r["source"]
        yield Row(
            source=source,
            what=f"{r['product']} of {r['of']}, {r['unit']}",
            published=r["value"],
            ours=ours[r["source"], r["product"], r["of"]],
        )


def solubility() -> Iterator[Row]:
    """CO2 in water and wine."""
    for r in table("co2_water.csv"):
        temp = float(r["temp_c"])
        mol_per_bar = water_holds_g_per_litre_bar(temp) / CO2_G_PER_MOL
        if r["source"] == "crc":
            mol = mol_per_bar * float(r["co2_kpa"]) / 100.0
            ours = 1000.0 * mol / (mol + water_density_kg_m3(temp) / 18.015)
            source, unit = "CRC CO2 in water", f"{r['co2_kpa']} kPa, 1000 x"
        else:
            ours = mol_per_bar * ATM_BAR * CO2_LITRES_PER_MOL
            source, unit = "Murray and Riley", "Bunsen"
        what = f"water at {r['temp_c']} C, {unit}"
        yield Row(source=source, what=what, published=r["value"], ours=ours)
    for r in table("co2_wine.csv"):
        abv, sugar = float(r["abv_pct"]), float(r["sugar_g_per_litre"])
        yield Row(
            source="*OIV, EU formula" if r["source"] == "oiv_recomputed" else "Liger-Belair 2021",
            what=f"{abv:g} %, {sugar:g} g/L, {r['temp_c']} C, g/L/bar",
            published=r["g_per_litre_bar"],
            ours=wine_holds_g_per_litre_bar(
                float(r["temp_c"]), abv_pct=abv, sugar_g_per_litre=sugar
            ),
        )


def altitude() -> Iterator[Row]:
    """Pressure of the air."""
    for r in table("pressure_altitude.csv"):
        ours = 100.0 * air_pressure_hpa(float(r["geopotential_m"]))
        what = f"air at {r['geopotential_m']} m, Pa"
        yield Row(source="ISO 2533", what=what, published=r["pa"], ours=ours)


def bottles() -> Iterator[Row]:
    """Champagne, filled as at 12 C; the sparkling rule at 10 C, its low limit beside ours."""

    def co2_bar(temp_c: float, co2_g: float) -> float:
        return bottle_pressure(
            0.0, temp_c=temp_c, abv_pct=12.5, dissolved_g_per_litre=co2_g, sugar_g_per_litre=10.0
        ).co2_bar

    champagne = table("champagne.csv")
    middle = champagne[1]
    co2_g = float(middle["co2_bar"]) / co2_bar(float(middle["temp_c"]), 1.0)
    for r in champagne:
        what = f"champagne at {r['temp_c']} C, bar"
        ours = co2_bar(float(r["temp_c"]), co2_g)
        yield Row(source="Liger-Belair 2017", what=what, published=r["co2_bar"], ours=ours)
    for r in table("sparkling_rule.csv"):
        made_g = float(r["sucrose_g_per_litre"]) * HEXOSE_PER_SUCROSE * CO2_PER_HEXOSE
        what = f"{r['source']}, {r['sucrose_g_per_litre']} g/L to {r['high_atm']} atm"
        ours = co2_bar(10.0, made_g) / ATM_BAR
        yield Row(source="sparkling rule", what=what, published=r["low_atm"], ours=ours)


def definitions() -> Iterator[Row]:
    """Limits of the words for sparkle, where our word changes."""
    steps = [k / 100.0 for k in range(601)]
    for r in table("bottle_definitions.csv"):
        worded = [bar for bar in steps if sparkle(bar) == r["word"]]
        for column, ours in (("from_bar", worded[0]), ("to_bar", worded[-1])):
            if r[column]:
                what = f"{r['word']} {column.removesuffix('_bar')}, bar"
                yield Row(source=r["source"], what=what, published=r[column], ours=ours)


TABLES: tuple[Callable[[], Iterator[Row]], ...] = (
    water,
    stem,
    sucrose,
    ethanol,
    vapour,
    stoichiometry,
    solubility,
    altitude,
    bottles,
    definitions,
)


def main() -> None:
    """Print every row, then the largest difference of each source."""
    rows = [row for found in TABLES for row in found()]
    print(f"{'source':<19} {'what':<40} {'published':>10} {'ours':>12} {'last digits':>11}")
    for row in rows:
        print(
            f"{row.source:<19} {row.what:<40} {row.published:>10} {row.ours:>12.7g} "
            f"{row.last_digits:>+11.2f}"
        )
    print("\nlargest difference of each source, in its last printed digit")
    for source in dict.fromkeys(row.source for row in rows):
        mine = [row for row in rows if row.source == source]
        worst = max(mine, key=lambda row: abs(row.last_digits))
        print(f"{source:<19} {len(mine):>4} values {worst.last_digits:>+9.2f}   {worst.what}")


if __name__ == "__main__":
    main()
