"""The calendar of steps as a table of dates; day 0 is 1 October 2026."""

from collections import Counter
from datetime import date, timedelta

import pytest

from bubblerate.course.plan import outlook
from bubblerate.diary.reading import read
from bubblerate.diary.settings import Keeping, Settings, VesselSettings
from bubblerate.diary.settings_file import settings
from bubblerate.verdict import cautions

from scenes import EXAMPLES, diary, evening

PITCHED = {"day": 0, "event": "pitched", "sg": 1.085, "litres": 4.5, "temp_c": 19.0}


def racked(*days):
    return [{"day": d, "event": "racked"} for d in days]


def steady(*days, sg=0.996):
    return [{"day": d, "sg": sg, "event": "sampled", "temp_c": 18.5} for d in days]


def seen_at(day, *rows, keeping=None, **known):
    rows = sorted([PITCHED, *rows], key=lambda row: row["day"])
    known = {key: evening(v).date() if isinstance(v, int) else v for key, v in known.items()}
    return outlook(
        diary(*rows),
        at=evening(day),
        settings=Settings(vessels={"fig": VesselSettings(**known)}, keeping=keeping or Keeping()),
    )


def dates(seen, *states):
    return {
        step.key: None if step.on is None else step.on.isoformat()
        for step in seen.steps
        if step.state in (states or ("due",))
    }


PROVEN = [*racked(30), *steady(30, 46)]
DONE_THREE = [*racked(30, 75, 120), *steady(120, 134)]

TABLE = [
    # what was done and seen      asked  what is due                            on
    ("racked, not yet proven", 40, [*racked(30), *steady(30)], {}, {
        "gravity-next": "2026-11-14",  # 14 days after the reading of 31 Oct
        "racking-2": "2026-12-15",  # 45 days after 31 Oct
        "bottling": "2027-01-14",  # 30 days after that without new lees
        "gravity-bottling": "2027-01-14",
        "drink-from": "2027-07-14",
        "fining-1": None,
        "filtering-1": None,
    }),
    ("racked, proven, not clear", 46, PROVEN, {}, {
        "racking-2": "2026-12-15",
        "bottling": "2027-01-14",
        "gravity-bottling": "2027-01-14",
        "drink-from": "2027-07-14",
        "fining-1": None,
        "filtering-1": None,
    }),
    ("clear since 1 Nov", 46, PROVEN, {"clear_since": 31, "style": "sloe wine"}, {
        "filtering-1": "2026-11-16",
        "bottling": "2026-12-01",  # 30 days clear
        "gravity-bottling": "2026-12-01",  # the reading of 16 Nov is too old by then
        "drink-from": "2027-12-01",
    }),
    ("clear long since, counts and warmth wanting", 46, PROVEN, {"clear_since": 5}, {
        "filtering-1": "2026-11-16",
        "bottling": "2026-11-19",  # three evenings of counts
        "drink-from": "2027-05-19",
    }),
    ("fined on 10 Nov", 46, [*PROVEN, {"day": 40, "event": "fined", "note": "bentonite"}], {}, {
        "racking-2": "2026-11-24",  # off the finings, 14 days on
        "bottling": "2026-12-24",
        "gravity-bottling": "2026-12-24",
        "drink-from": "2027-06-24",
        "filtering-1": None,
    }),
    ("overdue racking", 90, [*racked(30), *steady(75, 90)], {}, {
        "racking-2": "2026-12-30",  # today
        "bottling": "2027-01-29",
        "gravity-bottling": "2027-01-29",
        "drink-from": "2027-07-29",
        "fining-1": None,
        "filtering-1": None,
    }),
    ("three rackings and not clear", 134, DONE_THREE, {}, {
        "chilling-1": "2027-03-15",  # 45 days after 29 Jan
        "fining-1": "2027-04-14",  # a month of chill
        "bottling": "2027-05-28",  # 14 days for the finings, 30 without new lees
        "gravity-bottling": "2027-05-28",
        "drink-from": "2027-11-28",
        "filtering-1": None,
    }),
    ("sweetness left after the racking", 46, [*racked(30), *steady(30, 46, sg=1.012)], {}, {
        "racking-2": "2026-12-15",
        "fining-1": None,
        "filtering-1": None,
        "bottling": None,
    }),
    ("sulphited on 14 Nov", 46, [*PROVEN, {"day": 44, "event": "sulphited"}], {"clear_since": 5}, {
        "filtering-1": "2026-11-16",
        "bottling": "2026-11-28",  # two weeks on, and proven again
        "gravity-bottling": "2026-11-28",
        "drink-from": "2027-05-28",
    }),
    ("bottled on 30 Nov", 61, [*PROVEN, {"day": 60, "event": "bottled"}], {}, {
        "lay-down": "2026-12-05",
        "drink-from": "2027-05-30",
    }),
    ("bottled, strawberries", 61, [*PROVEN, {"day": 60, "event": "bottled"}],
     {"style": "strawberry wine"}, {
        "lay-down": "2026-12-05",
        "drink-from": "2027-05-30",
        "best-by": "2027-11-30",
    }),
]  # fmt: skip


@pytest.mark.parametrize(
    ("day", "rows", "known", "due"), [row[1:] for row in TABLE], ids=[row[0] for row in TABLE]
)
def test_what_is_due_and_when(day, rows, known, due):
    seen = seen_at(day, *rows, **known)
    assert dates(seen) == due


def test_what_was_done_stands_at_its_day():
    rows = [*racked(30, 75), {"day": 80, "event": "fined"}, {"day": 90, "event": "sulphited"}]
    seen = seen_at(95, *rows)
    assert dates(seen, "done") == {
        "racking-1": "2026-10-31",
        "racking-2": "2026-12-15",
        "fining-1": "2026-12-20",
        "sulphiting-1": "2026-12-30",
    }
    assert [step.title for step in seen.steps][:4] == [
        "First racking",
        "Second racking",
        "Fining",
        "Sulphiting",
    ]


def test_a_racking_that_a_clear_wine_does_not_need_is_dropped():
    assert dates(seen_at(46, *PROVEN, clear_since=31), "dropped") == {"racking-2": "2026-12-15"}


@pytest.mark.parametrize(
    ("keeping", "key", "on"),
    [
        (Keeping(racking_days=60.0), "racking-2", "2026-12-30"),
        (Keeping(deposit_days=60.0), "bottling", "2027-02-13"),
        (Keeping(racking_days=60.0, deposit_days=14.0), "bottling", "2027-01-13"),
    ],
)
def test_a_wait_can_be_set(keeping, key, on):
    assert dates(seen_at(46, *PROVEN, keeping=keeping))[key] == on


def test_finings_and_corks_wait_as_set():
    keeping = Keeping(fining_days=5.0, chill_days=10.0, upright_days=3.0)
    found = dates(seen_at(134, *DONE_THREE, keeping=keeping))
    assert found["fining-1"] == "2027-03-25"
    assert found["bottling"] == "2027-04-29"
    bottled = seen_at(61, *PROVEN, {"day": 60, "event": "bottled"}, keeping=keeping)
    assert dates(bottled)["lay-down"] == "2026-12-03"


def test_months_to_the_first_glass_can_be_set():
    seen = seen_at(61, *PROVEN, {"day": 60, "event": "bottled"}, drink_from_months=2.0)
    assert dates(seen)["drink-from"] == "2027-01-30"


def test_a_new_diary_has_no_days_yet():
    seen = seen_at(0)
    assert {*dates(seen).values()} <= {None, "2026-10-01"}
    assert dates(seen)["racking-1"] is None
    assert dates(seen)["bottling"] is None


# --- from the forecast ---------------------------------------------------------------------------


def example(vessel, day):
    known = settings(EXAMPLES)
    found = read(EXAMPLES / f"{vessel}.csv")
    at = found.live[0].when.replace(hour=23) + timedelta(days=day)
    return outlook(found, at=at, settings=known)


@pytest.fixture(scope="module")
def mead():
    return example("chestnut-honey-mead", 67)


def test_the_first_racking_stands_in_the_window_of_the_forecast(mead):
    crossing = mead.racking.forecast.crossing
    first = next(step for step in mead.steps if step.key == "racking-1")
    assert (first.on, first.until) == (crossing.low80.date(), crossing.high80.date())
    assert first.on > mead.at.date()


def test_while_the_verdict_waits_racking_is_never_for_today():
    # 24 November, within the window foretold: 23 November to 9 December
    seen = example("chestnut-honey-mead", 73)
    assert seen.racking.verdict.answer == "wait"
    assert dates(seen)["racking-1"] == "2026-11-25"


def test_gravity_is_checked_near_the_threshold_and_a_week_on(mead):
    days = {step.key: step.on for step in mead.steps}
    assert days["gravity-next"] == mead.racking.forecast.crossing.median.date()
    assert days["gravity-then"] == days["gravity-next"] + timedelta(days=7)


def test_the_second_racking_and_the_bottling_wait_for_the_end_of_the_window(mead):
    days = {step.key: step.on for step in mead.steps}
    first = next(step for step in mead.steps if step.key == "racking-1")
    assert days["racking-2"] == first.until + timedelta(days=45)
    assert days["bottling"] == days["racking-2"] + timedelta(days=30)


@pytest.mark.parametrize("vessel", ["damson", "russet-cider", "sloe"])
def test_a_jar_that_is_stuck_leaks_or_rests_is_given_no_day_to_rack(vessel):
    known = read(EXAMPLES / f"{vessel}.csv")
    seen = outlook(known, at=known.live[-1].when, settings=settings(EXAMPLES))
    assert dates(seen)["racking-1"] is None
    assert dates(seen)["bottling"] is None


def test_a_go_is_for_today():
    known = read(EXAMPLES / "quince.csv")
    seen = outlook(known, at=known.live[-1].when, settings=settings(EXAMPLES))
    assert dates(seen)["racking-1"] == "2026-11-14"


def test_a_jar_that_passes_every_line_may_be_bottled_today():
    known = read(EXAMPLES / "medlar.csv")
    day = date(2026, 10, 10)
    said = VesselSettings(finish=0.996, clear_since=day, degassed_on=day, malolactic_settled_on=day)
    all_known = Settings(vessels={"medlar": said})
    seen = outlook(known, at=known.live[-1].when, settings=all_known)
    assert seen.gate.answer == "go"
    assert dates(seen)["bottling"] == "2026-11-16"
    assert "gravity-bottling" not in dates(seen)


# --- laws ----------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def many(mead):
    """Outlooks of many situations."""
    table = [seen_at(day, *rows, **known) for _, day, rows, known, _ in TABLE]
    jars = ("quince", "damson", "russet-cider", "perry-pear")
    return [*table, mead, seen_at(0), *(example(v, 8) for v in jars)]


def test_a_bottle_is_filled_no_earlier_than_its_checks_allow(many):
    for seen in many:
        for step in seen.steps:
            if step.key == "bottling" and step.state == "due" and step.on is not None:
                assert step.on >= seen.at.date() + timedelta(days=seen.gate.answer == "wait")


def test_no_step_is_due_in_the_past_and_days_come_in_order(many):
    for seen in many:
        due = [step for step in seen.steps if step.state == "due"]
        days = [step.on for step in due if step.on is not None]
        assert days == sorted(days)
        assert all(day >= seen.at.date() for day in days)
        assert all(step.on is None for step in due[len(days) :])
        assert all(step.until is None or step.until > step.on for step in due)


def test_a_step_has_a_name_of_its_own_and_says_where_its_day_comes_from(many):
    for seen in many:
        assert max(Counter(step.key for step in seen.steps).values(), default=1) == 1
        assert all(step.basis for step in seen.steps if step.state != "dropped")


def test_no_caution_is_given_twice_and_each_has_its_place(many):
    every = {getattr(cautions, name) for name in cautions.__all__ if name.isupper()}
    met = set()
    for seen in many:
        given = Counter(care for step in seen.steps for care in step.care)
        assert max(given.values(), default=1) == 1
        met |= {*given}
    assert met == every - {cautions.SULPHITE}  # which stands beside the dose
