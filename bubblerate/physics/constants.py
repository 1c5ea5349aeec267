"""All physical constants, with the unit in the name and the source beside. Loads nothing."""

from typing import Final

__all__ = [
    "AIR_KG_M3",
    "ATM_HPA",
    "CO2_G_PER_MOL",
    "CO2_PER_EXTRACT",
    "CO2_PER_HEXOSE",
    "EXTRACT_PER_ETHANOL",
    "GAS_J_PER_MOL_K",
    "GLASS_EXPANSION_PER_C",
    "HEXOSE_G_PER_MOL",
    "HPA_PER_BAR",
    "LOST_PER_ETHANOL",
    "MINUTES_PER_DAY",
    "SO2_SHARE_OF_POWDER",
    "SORBIC_SHARE_OF_SORBATE",
    "SUCROSE_LITRES_PER_G",
    "SULPHUROUS_PKA",
    "TABLET_G",
    "UK_FL_OZ_LITRES",
    "UK_GALLON_LITRES",
    "US_FL_OZ_LITRES",
    "US_GALLON_LITRES",
    "ZERO_C_IN_K",
]

# Units, exact by definition: UK Weights and Measures Act 1985, NIST Handbook 44 (gallons); SI.
UK_GALLON_LITRES: Final = 4.54609
US_GALLON_LITRES: Final = 3.785411784
UK_FL_OZ_LITRES: Final = UK_GALLON_LITRES / 160.0
US_FL_OZ_LITRES: Final = US_GALLON_LITRES / 128.0
MINUTES_PER_DAY: Final = 1440.0
HPA_PER_BAR: Final = 1000.0
ZERO_C_IN_K: Final = 273.15
ATM_HPA: Final = 1013.25  # standard atmosphere

GAS_J_PER_MOL_K: Final = 8.314462618  # SI 2019

# CIAAW abridged standard atomic weights C 12.011, H 1.008, O 15.999 (from memory).
CO2_G_PER_MOL: Final = 12.011 + 2 * 15.999
HEXOSE_G_PER_MOL: Final = 6 * 12.011 + 12 * 1.008 + 6 * 15.999

# Gay-Lussac, C6H12O6 -> 2 C2H6O + 2 CO2: the most that glucose or fructose can give [g/g].
CO2_PER_HEXOSE: Final = 2 * CO2_G_PER_MOL / HEXOSE_G_PER_MOL

# Balling: 2.0665 g of extract give 1 g of ethanol, 0.9565 g of CO2 and 0.11 g of yeast (through
# H. Nielsen et al., "Balling's formula - scrutiny of a brewing dogma", Scandinavian School of
# Brewing) [g/g].
EXTRACT_PER_ETHANOL: Final = 2.0665
LOST_PER_ETHANOL: Final = 1.0665  # gone as gas or settled in the lees
CO2_PER_EXTRACT: Final = 0.9565 / EXTRACT_PER_ETHANOL

AIR_KG_M3: Final = 1.2  # density of air in tables of apparent gravity; common practice, no source
GLASS_EXPANSION_PER_C: Final = 25e-6  # cubic, the conventional value of ISO 1768:1975

# First dissociation of sulphurous acid in wine (from memory); it gives back the free SO2 by pH of
# Univ. of California Cooperative Extension, Enology Briefs I(1), 1982, to 1 mg/L: see the tests.
SULPHUROUS_PKA: Final = 1.81
# Molar masses: SO2 64.064, K2S2O5 222.32 g/mol; two of the one from one of the other [g/g].
SO2_SHARE_OF_POWDER: Final = 2.0 * 64.064 / 222.32

TABLET_G: Final = 0.44  # of potassium metabisulphite in one tablet; common practice, no source

# Molar masses: sorbic acid C6H8O2 112.13, its potassium salt 150.22 g/mol [g/g].
SORBIC_SHARE_OF_SORBATE: Final = 112.13 / 150.22

# Volume of a gram of dissolved sugar, from the densities of sucrose solutions of 4 to 15 % in the
# CRC Handbook [L/g].
SUCROSE_LITRES_PER_G: Final = 0.6163e-3
