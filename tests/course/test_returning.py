"""Bubbles that come back are said first, with whether warmth explains them."""

import pytest

from bubblerate.course.judgement import judge
from bubblerate.course.returning import driven_out_ml
from bubblerate.physics.gas import saturated_g_per_litre
from bubblerate.show.verdict_text import as_text
from bubblerate.verdict.reasons import Kind

from scenes import diary, evening

WORKS = [
    {"day": d, "bubbles": round(400 * 0.8**d), "seconds": 300.0, "temp_c": 18.0}
    for d in range(1, 30)
]
RACKED = [
    {"day": 0, "event": "pitched", "sg": 1.085, "litres": 4.5},
    *WORKS,
    {"day": 30, "sg": 0.996},
    {"day": 31, "event": "racked", "litres": 4.5},
]
SILENT = [{"day": 40 + 7 * n, "bubbles": 0, "seconds": 300.0, "temp_c": 14.0} for n in range(7)]


def asked(*rows, day=91):
    return judge(diary(*RACKED, *SILENT, *rows), at=evening(day))


def back(bubbles, temp_c, seconds=300.0):
    return {"day": 90, "bubbles": bubbles, "seconds": seconds, "temp_c": temp_c}


@pytest.mark.parametrize(
    ("row", "told"),
    [
        (back(15, 19.0, 3600.0), "5 C warmer: that warmth can drive out this much gas."),
        (back(4, 19.0), "5 C warmer: that warmth cannot drive out this much gas."),
        (
            back(4, 14.0),
            ("and it is no warmer: yeast or malolactic, unless a reading shows only gas."),
        ),
        (back(4, None), "without temperatures, it may only be warmer."),
    ],
)
def test_it_is_said_first_and_whether_warmth_explains_it(row, told):
    judged = asked(row)
    lead = judged.verdict.reasons[0].text
    assert lead.startswith("Bubbling again since 30 Dec")
    assert lead.endswith(told)
    assert len(lead.split()) <= 25
    assert as_text(judged).splitlines()[2].startswith("  WAIT  Bubbling again since 30 Dec")
    assert judged.verdict.next.kind is Kind.READ


def test_a_reading_since_then_settles_it():
    judged = asked(back(4, 19.0), {"day": 91, "sg": 0.996}, day=92)
    assert not judged.verdict.reasons[0].text.startswith("Bubbling again")


def test_a_quiet_jar_says_nothing_of_it():
    assert not asked().verdict.reasons[0].text.startswith("Bubbling again")


@pytest.mark.parametrize("event", ["stirred", "starter", "warmed"])
def test_nothing_is_made_of_bubbles_that_stirring_a_starter_or_warmth_brought_back(event):
    stuck = [row for row in RACKED if "event" not in row and row["day"] < 30]
    start = {"day": 0, "event": "pitched", "sg": 1.085, "litres": 4.5}
    helped = {"day": 85, "event": event}
    rows = [start, *stuck, *SILENT]
    for acts, said in (([], True), ([helped], False)):
        judged = judge(diary(*rows, *acts, back(9, 18.0)), at=evening(91))
        assert judged.verdict.reasons[0].text.startswith("Bubbling again") is said


# By hand from the published solubility behind `saturated_g_per_litre`: 44.01 g of CO2 are a mole,
# which is 24.0 L of dry gas at 19 C and 1013 hPa, 2 % more when it is wet.
def test_gas_driven_out_is_what_the_warmer_wine_no_longer_holds():
    held, holds = (saturated_g_per_litre(c, abv_pct=12.0) for c in (14.0, 19.0))
    assert driven_out_ml(4.5, 14.0, 19.0) == pytest.approx(
        4.5 * (held - holds) / 44.01 * 24_000 * 1.02, rel=0.01
    )
    assert driven_out_ml(4.5, 19.0, 14.0) == 0.0
    assert driven_out_ml(4.5, -5.0, 45.0) > driven_out_ml(4.5, 5.0, 30.0)
