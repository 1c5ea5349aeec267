"""What the fit itself finds odd, and what it says to do about it."""

import numpy as np
import pytest

from bubblerate.diary.settings import Settings
from bubblerate.ferment.fit import fit_curve
from bubblerate.verdict.diagnosis import findings

from cases import judge
from scenes import diary, evening, known, visits


def slowing(n=10, half_life=4.0, first=60.0, **more):
    return [
        {"day": float(d), "bubbles": round(first * 0.5 ** (d / half_life)), **more}
        for d in range(n)
    ]


def found(rows, litres=4.5):
    rows = sorted(rows, key=lambda row: row["day"])
    return findings(
        fit_curve(known(*rows, litres=litres), rng=np.random.default_rng(1)), visits(*rows)
    )


def codes(rows, **more):
    return [reason.code for reason in found(rows, **more)]


def test_an_orderly_tail_is_not_odd():
    assert codes([*slowing(), {"day": 5.0, "sg": 1.012}, {"day": 9.0, "sg": 1.004}]) == []


@pytest.mark.parametrize("factor", [10.0, 0.1])
def test_a_digit_too_many_or_too_few_is_a_slip(factor):
    rows = slowing()
    rows[5]["bubbles"] = round(factor * rows[5]["bubbles"])
    (reason,) = found(rows)
    assert reason.code == "slip"
    assert f"count of 6 Oct 2026, {rows[5]['bubbles']} in 1 min" in reason.text
    assert "If so, strike it" in reason.text


def test_a_new_pace_that_stays_is_no_slip():
    rows = slowing()
    for row in rows[6:]:
        row["bubbles"] = round(0.1 * row["bubbles"])
    assert "slip" not in codes(rows)


def test_a_bubble_a_year_later_is_no_slip():
    rows = [(0.0, 40), (1.0, 30), (2.0, 22), (366.0, 1), (367.0, 0)]
    assert codes([{"day": day, "bubbles": n} for day, n in rows]) == []


def test_the_slip_is_known_by_its_own_chance():
    rows = slowing()
    rows[5]["bubbles"] *= 10
    chances = fit_curve(known(*rows), rng=np.random.default_rng(1)).outlier_chance
    assert chances[5] > 0.9
    assert np.all(np.delete(chances, 5) < 0.1)


def test_a_reading_that_fits_neither_bubbles_nor_readings_is_a_slip():
    sgs = [(2.0, 1.018), (5.0, 1.041), (7.0, 1.006), (9.0, 1.004)]
    (reason,) = found([*slowing(), *({"day": d, "sg": sg} for d, sg in sgs)])
    assert reason.code == "slip"
    assert "gravity of 6 Oct 2026, 1.041" in reason.text


def quiet(last, temp_c=17.0, pressure_hpa=1015.0, litres=23.0, day=12.0):
    """A slow, steady tail of 5-minute counts in a large jar, and a last evening in another air."""
    rows = [
        {"day": float(d), "bubbles": n, "seconds": 300.0, "temp_c": 17.0, "pressure_hpa": 1015.0}
        for d, n in enumerate((60, 40, 26, 17, 12, 8, 6, 4, 3, 3, 2, 2))
    ]
    air = {"temp_c": temp_c, "pressure_hpa": pressure_hpa}
    rows.append({"day": day, "bubbles": last, "seconds": 300.0, **air})
    return codes(rows, litres=litres)


def test_bubbles_that_warming_explains_are_weather():
    assert quiet(9, temp_c=20.0) == ["weather"]


def test_bubbles_that_a_falling_barometer_explains_are_weather():
    assert quiet(9, pressure_hpa=985.0, day=11.3) == ["weather"]  # a storm of seven hours


@pytest.mark.parametrize(
    "air",
    [
        {},
        {"pressure_hpa": 985.0},
        {"temp_c": 14.0},
        {"pressure_hpa": 1035.0},
        {"temp_c": 20.0, "litres": None},
    ],
    ids=["as before", "a slow fall", "colder", "higher", "litres unknown"],
)
def test_bubbles_that_the_air_does_not_explain_are_not_weather(air):
    assert quiet(9, **air) == []


def test_silence_that_cooling_explains_is_weather_too():
    rows = [
        {"day": float(d), "bubbles": n, "seconds": 300.0, "temp_c": 18.0}
        for d, n in enumerate((90, 75, 64, 55, 47, 41, 36, 31))
    ]
    rows.append({"day": 8.0, "bubbles": 3, "seconds": 300.0, "temp_c": 13.0})
    assert "weather" in codes(rows, litres=23.0)


def test_what_is_odd_is_said_after_the_reasons_of_the_answer():
    rows = slowing()
    rows[5]["bubbles"] *= 10
    judged = judge(diary(*rows), at=evening(9.0), settings=Settings())
    assert judged.verdict.reasons[-1].code == "slip"
    assert judged.verdict.reasons[0].code != "slip"


# A wrong go where the airlock misleads: each of these stands in the trade's own list.
HARMFUL = {
    "quiet at 1.020 and falling": [
        *slowing(12, 1.5),
        {"day": 8.0, "sg": 1.026},
        {"day": 11.0, "sg": 1.020},
    ],
    "a bubble every 72 s at 1.039": [
        *({"day": 3.0 * d, "bubbles": 5, "seconds": 360.0} for d in range(8)),
        {"day": 14.0, "sg": 1.041},
        {"day": 21.0, "sg": 1.039},
    ],
    "three equal readings at 1.070": [
        *({"day": float(d), "bubbles": 1, "seconds": 300.0} for d in range(10)),
        *({"day": d, "sg": 1.070} for d in (2.0, 5.0, 9.0)),
    ],
    "silence in a cold room": [
        *slowing(6, 4.0, temp_c=17.0),
        *({"day": 6.0 + d, "bubbles": 0, "seconds": 300.0, "temp_c": 7.0} for d in range(6)),
    ],
    "silence from the evening a bung was knocked": [
        *slowing(6, 8.0),
        *({"day": 6.0 + d, "bubbles": 0, "seconds": 300.0} for d in range(4)),
    ],
    "silence after another airlock": [
        *slowing(6, 8.0),
        {"day": 5.5, "event": "airlock"},
        *({"day": 6.0 + d, "bubbles": 0, "seconds": 300.0} for d in range(4)),
    ],
    "silence after a move": [
        *slowing(6, 8.0),
        {"day": 5.5, "event": "moved"},
        *({"day": 6.0 + d, "bubbles": 0, "seconds": 300.0} for d in range(4)),
    ],
}


@pytest.mark.parametrize("question", ["racking", "bottling"])
@pytest.mark.parametrize("name", HARMFUL)
def test_a_quiet_airlock_that_misleads_is_never_a_go(name, question):
    rows = sorted(HARMFUL[name], key=lambda row: row["day"])
    for below in (None, 2.0):
        of_it = diary({"day": -2.0, "event": "pitched", "sg": 1.085, "litres": 4.5}, *rows)
        at = evening(rows[-1]["day"] + 0.01)
        judged = judge(of_it, at=at, question=question, threshold_per_min=below)
        assert judged.verdict.answer == "wait", [r.text for r in judged.verdict.reasons]
