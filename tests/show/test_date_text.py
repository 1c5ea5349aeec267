from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from bubblerate.course.judgement import judge
from bubblerate.diary.reading import read
from bubblerate.show.date_text import NoDate, days_text, tail_title, why_no_date

from drawings import judged
from scenes import EXAMPLES, diary, evening

COUNTS = diary(*({"day": d, "bubbles": n} for d, n in enumerate((20, 22, 19, 20))))
SILENT = diary(*({"day": d, "bubbles": 0, "seconds": 300.0} for d in range(5)))


@pytest.fixture(scope="module")
def young():
    return judged(COUNTS)


def crossing_in(judgement, days):
    """The same with all draws so many days ahead of the moment asked about."""
    forecast = judgement.forecast
    ahead = (judgement.verdict.asked_at - forecast.crossing.at) / timedelta(days=1) + days
    crossing = replace(forecast.crossing, draws=np.full(9, ahead))
    return replace(judgement, forecast=replace(forecast, crossing=crossing))


@pytest.mark.parametrize(
    ("days", "told"),
    [
        (12.0, "below 1.0/min in 12 days"),
        (1.0, "below 1.0/min in 1 day"),
        (0.1, "below 1.0/min today"),
        (-1.0, "below 1.0/min 1 day ago"),
        (80.0, "not below 1.0/min in 60 days"),
        (-30.0, "below 1.0/min for 30 days or more"),
    ],
)
def test_a_panel_tells_whether_the_day_is_past_or_to_come(young, days, told):
    assert days_text(crossing_in(young, days)) == told


@pytest.mark.parametrize(
    ("days", "told"),
    [
        (12.0, "fig should fall below 1.0 a minute about 16 Oct."),
        (-1.0, "fig fell below 1.0 a minute about 3 Oct."),
        (80.0, "fig should not fall below 1.0 a minute within 60 days."),
        (-30.0, "fig has been below 1.0 a minute since 4 Sep or earlier."),
    ],
)
def test_the_title_is_a_sentence_with_the_day(young, days, told):
    title = tail_title(crossing_in(young, days)).expandtabs(1).splitlines()
    assert title == [told, "Rack it? Not yet, by bubbles alone. 4 Oct 2026 21:00"]


def test_other_ferments_give_a_range_and_not_a_day():
    rows = ({"day": d, "bubbles": n} for d, n in enumerate((4, 15, 22)))
    start = {"day": -2.0, "event": "pitched", "sg": 1.085, "litres": 4.5}
    found = judged(diary(start, *rows))
    assert "going by other ferments." in tail_title(found)
    low, _, high = days_text(found).partition(" to ")
    assert low.startswith("below 1.0/min in ")
    assert high.endswith(" days")


def test_where_there_is_no_day_it_says_why():
    nothing = judge(diary(), at=evening(3))
    assert why_no_date(nothing) is NoDate.UNCOUNTED
    assert tail_title(nothing).startswith("fig: no bubbles counted, so no date.\n")
    one = judged(diary({"day": 0, "bubbles": 9}))
    assert (why_no_date(one), days_text(one)) == (NoDate.FEW, "no date: too few counts")
    leak = judged(read(EXAMPLES / "russet-cider.csv"))
    assert why_no_date(leak) is NoDate.LEAK
    assert "its airlock misses gas" in tail_title(leak)


def test_a_rough_fit_gives_no_day(young):
    rough = replace(young, forecast=replace(young.forecast, distrust="too few draws"))
    assert why_no_date(rough) is NoDate.ROUGH
    assert days_text(rough) == "no date: the fit is rough"
