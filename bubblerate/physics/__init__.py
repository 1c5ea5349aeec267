"""The physics and chemistry of fermentation, from handbooks, with units and sources.

Numbers in, numbers out; nothing here knows about jars, diaries or verdicts. Public: import any of
it. Names are loaded when first used, and a number alone needs no numpy.

- `scales`: SG, points, Brix, Oechsle and sugar a litre, one into the other
- `hydrometer`: a reading corrected for warmth and offset; an offset found in water
- `alcohol`: strength from two gravities; the finish to expect of a must
- `refraction`: a gravity guessed from two readings of a refractometer
- `extract`: what is dissolved in a wine, and the must it came from
- `ethanol`: density and strength of ethanol and water
- `gas`: CO2 of a fall, its volume as it leaves, what wine holds of it
- `airlock`: gas of a bubble learnt from two readings; bubbles that are only weather
- `bottle`: pressure of sugar that ferments in a closed bottle, and what such a wine is called
- `sulphite`: free SO2 by pH, and the powder for it
- `doses`: sugar to sweeten or to sparkle, sorbate, finings
- `water`: density and vapour pressure; `constants`, `limits`: what all of them rest on

Examples
--------
>>> from bubblerate import physics
>>> round(physics.abv_from_sg(1.085, 0.993), 1)
12.3
>>> finish = physics.expected_finish(1.085, "dry wine")  # where such a must should end
>>> f"{finish.low:.3f} to {finish.high:.3f}"
'0.990 to 0.998'
>>> round(physics.offset_in_water(1.001, 25.0), 4)  # a stem floated in tap water
0.002
>>> round(physics.bubble_size(14.0, 28_000, litres=4.5).ml, 2)  # mL of gas a bubble
1.26
>>> physics.sparkle(1.8)
'semi-sparkling'
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from .airlock import Air, BubbleSize, WeatherGas, air_pressure_hpa, bubble_size, weather_gas
    from .alcohol import (
        Finish,
        Style,
        abv_from_sg,
        driest_sg,
        expected_finish,
    )
    from .bottle import BottlePressure, Sparkle, bottle_pressure, sparkle
    from .doses import (
        finings_ml,
        lifted_sg,
        priming_g_per_litre,
        sorbate_g,
        sweetening_g,
    )
    from .ethanol import (
        abv_from_mass_fraction,
        ethanol_kg_m3,
        ethanol_water_kg_m3,
        mass_fraction_from_abv,
        mixture_kg_m3,
    )
    from .extract import extract_g_per_litre, must_sg
    from .gas import (
        co2_from_points_g,
        co2_from_sugar_g,
        dry_pressure_hpa,
        saturated_g_per_litre,
        water_holds_g_per_litre_bar,
        wet_gas_ml,
        wine_holds_g_per_litre_bar,
    )
    from .hydrometer import corrected_sg, kg_m3_from_sg, offset_in_water, sg_from_kg_m3
    from .refraction import RefractedSG, sg_by_refractometer
    from .scales import (
        brix_from_sg,
        fall_points,
        g_per_litre_from_sg,
        oechsle_from_sg,
        points,
        sg_at,
        sg_from_brix,
        sg_from_g_per_litre,
        sg_from_oechsle,
    )
    from .sulphite import Sulphite, free_so2_mg_per_litre, sulphite_dose
    from .water import vapour_pressure_hpa, water_density_kg_m3

__all__ = [
    "Air",
    "BottlePressure",
    "BubbleSize",
    "Finish",
    "RefractedSG",
    "Sparkle",
    "Style",
    "Sulphite",
    "WeatherGas",
    "abv_from_mass_fraction",
    "abv_from_sg",
    "air_pressure_hpa",
    "bottle_pressure",
    "brix_from_sg",
    "bubble_size",
    "co2_from_points_g",
    "co2_from_sugar_g",
    "corrected_sg",
    "driest_sg",
    "dry_pressure_hpa",
    "ethanol_kg_m3",
    "ethanol_water_kg_m3",
    "expected_finish",
    "extract_g_per_litre",
    "fall_points",
    "finings_ml",
    "free_so2_mg_per_litre",
    "g_per_litre_from_sg",
    "kg_m3_from_sg",
    "lifted_sg",
    "mass_fraction_from_abv",
    "mixture_kg_m3",
    "must_sg",
    "oechsle_from_sg",
    "offset_in_water",
    "points",
    "priming_g_per_litre",
    "saturated_g_per_litre",
    "sg_at",
    "sg_by_refractometer",
    "sg_from_brix",
    "sg_from_g_per_litre",
    "sg_from_kg_m3",
    "sg_from_oechsle",
    "sorbate_g",
    "sparkle",
    "sulphite_dose",
    "sweetening_g",
    "vapour_pressure_hpa",
    "water_density_kg_m3",
    "water_holds_g_per_litre_bar",
    "weather_gas",
    "wet_gas_ml",
    "wine_holds_g_per_litre_bar",
]

_HOME = {
    "Air": "airlock",
    "BottlePressure": "bottle",
    "BubbleSize": "airlock",
    "Finish": "alcohol",
    "RefractedSG": "refraction",
    "Sparkle": "bottle",
    "Style": "alcohol",
    "Sulphite": "sulphite",
    "WeatherGas": "airlock",
    "abv_from_mass_fraction": "ethanol",
    "abv_from_sg": "alcohol",
    "air_pressure_hpa": "airlock",
    "bottle_pressure": "bottle",
    "brix_from_sg": "scales",
    "bubble_size": "airlock",
    "co2_from_points_g": "gas",
    "co2_from_sugar_g": "gas",
    "corrected_sg": "hydrometer",
    "driest_sg": "alcohol",
    "dry_pressure_hpa": "gas",
    "ethanol_kg_m3": "ethanol",
    "ethanol_water_kg_m3": "ethanol",
    "expected_finish": "alcohol",
    "extract_g_per_litre": "extract",
    "fall_points": "scales",
    "finings_ml": "doses",
    "free_so2_mg_per_litre": "sulphite",
    "g_per_litre_from_sg": "scales",
    "kg_m3_from_sg": "hydrometer",
    "lifted_sg": "doses",
    "mass_fraction_from_abv": "ethanol",
    "mixture_kg_m3": "ethanol",
    "must_sg": "extract",
    "oechsle_from_sg": "scales",
    "offset_in_water": "hydrometer",
    "points": "scales",
    "priming_g_per_litre": "doses",
    "saturated_g_per_litre": "gas",
    "sg_at": "scales",
    "sg_by_refractometer": "refraction",
    "sg_from_brix": "scales",
    "sg_from_g_per_litre": "scales",
    "sg_from_kg_m3": "hydrometer",
    "sg_from_oechsle": "scales",
    "sorbate_g": "doses",
    "sparkle": "bottle",
    "sulphite_dose": "sulphite",
    "sweetening_g": "doses",
    "vapour_pressure_hpa": "water",
    "water_density_kg_m3": "water",
    "water_holds_g_per_litre_bar": "gas",
    "weather_gas": "airlock",
    "wet_gas_ml": "gas",
    "wine_holds_g_per_litre_bar": "gas",
}


def __getattr__(name: str) -> Any:
    if name not in _HOME:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f".{_HOME[name]}", __name__), name)


def __dir__() -> list[str]:
    return [*__all__]
