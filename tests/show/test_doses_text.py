"""The numbers of doses as they are worded: grams, tablets, days, limits."""

from datetime import date
from pathlib import Path

import pytest

from bubblerate.course.balance import Balance, Middle
from bubblerate.course.doses import Stabilising, Sweetening
from bubblerate.course.must import Told
from bubblerate.course.sparkling import Priming
from bubblerate.course.weighed_in import Unweighed
from bubblerate.physics.sulphite import Sulphite, sulphite_dose
from bubblerate.show.doses_text import (
    finings_lines,
    hold_text,
    put_in_texts,
    sparkle_lines,
    stabilise_lines,
    sulphite_text,
    sweeten_lines,
)

FIG = Path("fig.csv")
NONE = Middle(0.0, 0.0, 0.0)
ON = date(2026, 11, 16)


def flat(lines):
    return " ".join(" ".join(lines).split())


def dosed(**said):
    usual = {
        "sulphite": None,
        "so2_most_mg_per_litre": None,
        "sorbate_g": (0.754, 1.206),
        "hold_until": None,
        "hold_day": None,
    }
    return Stabilising(**(usual | said))


def holds(**said):
    usual = {
        "litres": 4.5,
        "abv_pct": Middle(11.0, 12.0, 13.0),
        "sg": Middle(0.994, 0.995, 0.996),
        "sugar_g_per_litre": NONE,
        "start": Told.READ,
        "end": Told.READ,
        "unknown": (),
        "so2_mg_per_litre": NONE,
        "sorbic_mg_per_litre": NONE,
        "unweighed": (),
    }
    return Balance(**(usual | said))


def stabilised(found, of=None, *, sorbate=True):
    lines = stabilise_lines(found, of, path=FIG, ph=3.4, litres=4.5, sorbate=sorbate, width=80)
    return flat(lines)


# --- sulphite ------------------------------------------------------------------------------------


# By hand: 26 to 40 mg/L in 4.5 L are 0.20 to 0.31 g, in tablets of 0.44 g 0.5 to 0.7.
def test_sulphite_is_told_in_grams_and_tablets():
    text = sulphite_text(sulphite_dose(ph=3.4, litres=4.5), ph=3.4, litres=4.5)
    assert text.startswith("26 to 40 mg/L free at pH 3.4, good to 0.1")
    assert "0.20 to 0.31 g of potassium metabisulphite" in text
    assert "0.5 to 0.7 tablets of 0.44 g, for 4.5 L" in text
    assert "Sulphite added earlier counts towards this" in text
    assert "already measured" not in text


def test_what_was_measured_is_named():
    found = sulphite_dose(ph=3.4, litres=4.5, free_mg_per_litre=20.0)
    text = sulphite_text(found, ph=3.4, litres=4.5)
    assert "20 of it already measured: 0.04 to 0.16 g" in text
    assert "added earlier" not in text


@pytest.mark.parametrize(("powder_g", "enough"), [((0.0, 0.0), True), ((0.0, 0.01), False)])
def test_only_what_lacks_nothing_is_enough(powder_g, enough):
    found = Sulphite(
        ph=3.4, measured_mg_per_litre=60.0, mg_per_litre=(26.0, 40.0), powder_g=powder_g
    )
    said = sulphite_text(found, ph=3.4, litres=4.5).endswith(": the 60 mg/L measured is enough.")
    assert said == enough


def test_without_litres_there_are_no_grams():
    text = sulphite_text(sulphite_dose(ph=3.4, litres=None), ph=3.4, litres=None)
    assert text.startswith("26 to 40 mg/L")
    assert "tablets" not in text


@pytest.mark.parametrize(("ph", "why"), [(4.2, "outside the published table"), (None, "--ph")])
def test_where_no_figure_is_given_it_says_why(ph, why):
    text = sulphite_text(None, ph=ph, litres=4.5)
    assert why in text
    assert "Follow the packet" in text


# EU 1333/2008 (from memory): 200 mg/L in all.
@pytest.mark.parametrize(("most", "warned"), [(None, False), (200.0, False), (200.6, True)])
def test_more_than_the_law_allows_is_cautioned(most, warned):
    text = stabilised(dosed(so2_most_mg_per_litre=most))
    assert ("it may hold 201 mg/L in all, and 200 is the most" in text) == warned


# --- sorbate, and the wait -----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("grams", "text"),
    [
        ((0.754, 1.206), "0.75 to 1.21 g of potassium sorbate: 125 to 200 mg/L of sorbic acid"),
        ((0.0, 0.301), "It holds enough; no more than 0.30 g of potassium sorbate"),
        ((0.0, 0.0), "None: it may already hold 200 mg/L of sorbic acid, the most allowed."),
    ],
)
def test_sorbate_is_told_up_to_what_is_allowed(grams, text):
    assert text in stabilised(dosed(sorbate_g=grams))


def test_sulphite_alone_says_nothing_of_sorbate():
    alone = stabilised(dosed(), sorbate=False)
    assert "orbate" not in alone
    assert "event fig sulphited" in alone
    assert "event fig stabilised" in stabilised(dosed())


@pytest.mark.parametrize(
    ("day", "text"),
    [
        (0, "day 0 of 14, 14 to go: read it on 16 Nov 2026"),
        (9, "day 9 of 14, 5 to go: read it on 16 Nov 2026"),
        (13, "day 13 of 14, 1 to go: read it on 16 Nov 2026"),
        (14, "over since 16 Nov 2026"),
        (20, "over since 16 Nov 2026"),
        (None, ""),
    ],
)
def test_the_wait_is_counted_down(day, text):
    assert hold_text(dosed(hold_day=day, hold_until=ON)) == text
    assert text in stabilised(dosed(hold_day=day, hold_until=ON))


def test_no_wait_is_told_where_none_began():
    assert hold_text(dosed(hold_day=3)) == ""
    assert " wait " not in stabilised(dosed())


# --- what was put in before ----------------------------------------------------------------------


def test_what_was_put_in_is_summed_up():
    found = holds(
        so2_mg_per_litre=Middle(50.0, 56.0, 63.0), sorbic_mg_per_litre=Middle(140.0, 166.0, 190.0)
    )
    so2, sorbic = put_in_texts(found)
    assert so2.startswith("56 (50 to 63) mg/L of SO2 in all")
    assert sorbic == "166 (140 to 190) mg/L of sorbic acid."
    assert put_in_texts(found, sorbate=False) == [so2]
    assert "56 (50 to 63)" in stabilised(dosed(), found)


def test_nothing_put_in_is_nothing_said():
    assert put_in_texts(None) == put_in_texts(holds()) == []


def test_a_dose_that_nobody_weighed_is_named_with_its_day():
    lacking = tuple(Unweighed(what=what, vessel="fig", on=ON) for what in ("sulphite", "sorbate"))
    one, two = put_in_texts(holds(unweighed=lacking))
    assert one.startswith("sulphite went into fig on 16 Nov 2026, but no amount was noted")
    assert two.startswith("sorbate went into fig")
    assert put_in_texts(holds(unweighed=lacking), sorbate=False) == [one]


# --- sugar, finings ------------------------------------------------------------------------------


@pytest.mark.parametrize("held", [True, False])
def test_sugar_to_sweeten_is_told_with_what_the_wine_should_read(held):
    sugar = Sweetening(sugar_g=(177.6, 201.4), sg=1.0101, litres=4.617, held=held)
    text = flat(sweeten_lines(sugar, path=FIG, width=80))
    assert "178 to 201 g" in text
    assert "about 1.010 after that, 4.62 L" in text
    assert ("leave it 14 days, then sweeten it and leave it 14 days more" in text) != held


@pytest.mark.parametrize(("bar", "text"), [((-0.04, 2.14), "0.0 bar"), ((1.2, 2.14), "1.2 bar")])
def test_priming_is_told_with_the_pressure_it_may_make(bar, text):
    lines = sparkle_lines(Priming(sugar_g=13.87, g_per_litre=3.082, bar=bar), path=FIG, width=80)
    assert "14 g in all, 3.1 g/L, stirred in evenly" in flat(lines)
    assert f"{text} above the air at 20 C if the wine is free of gas. Up to 2.1" in flat(lines)


# Common practice, no source: half a teaspoon in a jar of 4.5 L.
@pytest.mark.parametrize(
    ("litres", "text"), [(None, "2.5 mL of each in a jar of 4.5 L"), (9.0, "5.0 mL of each in 9 L")]
)
def test_finings_go_by_the_litres(litres, text):
    assert text in flat(finings_lines(litres, path=FIG, width=80))
