"""One answer for each jar at one moment, whichever screen shows it; and no go against the proof."""

from __future__ import annotations

import pickle
from datetime import timedelta, timezone
from functools import cache

import pytest

from bubblerate.course.as_json import course_object
from bubblerate.course.days import evening_of
from bubblerate.course.judgement import judge, quiet_by
from bubblerate.diary.reading import read
from bubblerate.diary.settings import Hydrometer, Settings, VesselSettings
from bubblerate.diary.settings_file import settings
from bubblerate.diary.shelf import shelf_at
from bubblerate.shelf.overview import due_first, glance
from bubblerate.verdict.proof import evidence_for_bottling, proof_of
from bubblerate.verdict.reasons import Code, Kind, Phase

from anyhow import SWEEP, lives
from bench.verdict.monotone import fitted_once
from kept import Kept, event
from lives import BY_NAME, about_of, obey
from scenes import EXAMPLES, diary, evening
from screens import agree
from weighed import by_proof, kept, said

JARS = sorted(path.stem for path in EXAMPLES.glob("*.csv"))
LIVED = lives("goose")
PITCHED = {"day": 0, "event": "pitched", "sg": 1.085, "litres": 4.5}
WORKS = [{"day": d, "bubbles": round(400 * 0.85**d), "seconds": 300.0} for d in range(1, 30)]


@cache
def lived(name):
    """A life lived by the book, weighed by the proof."""
    return obey(BY_NAME[name], weigh=by_proof)


def evenings(known):
    """Last moment of each evening on which something was written."""
    return [*{evening_of(v.when): v.when for v in known.live}.values()]


@pytest.mark.parametrize("vessel", JARS)
def test_all_screens_agree_on_the_evenings_of_an_example(vessel):
    shelf = shelf_at(EXAMPLES)
    known = shelf.open(vessel).diary
    asked = evenings(known)[3:] if SWEEP else evenings(known)[3::24]
    with fitted_once():
        for when in asked:
            agree(known, when, shelf.settings, shelf=shelf if SWEEP else None)
        agree(known, evenings(known)[-1], shelf.settings, shelf=shelf)


@pytest.mark.parametrize("name", LIVED)
def test_a_life_lived_by_the_book_is_bottled_without_harm_and_all_screens_agree(name):
    about, played = about_of(BY_NAME[name]), lived(name)
    assert played.racked_day is not None
    assert played.bottled_day is not None
    assert played.bottled_left <= 2.0
    rows, own = played.jar.rows, said(about)
    with fitted_once():
        for n in range(3, len(rows), 1 if SWEEP else len(rows) // 4):
            agree(kept(rows[:n]), rows[n - 1].when, own)
            if SWEEP:  # and on the evening before the next is written
                agree(kept(rows[:n]), max(rows[n - 1].when, rows[n].when - timedelta(days=1)), own)


@pytest.mark.parametrize("name", LIVED)
def test_a_go_on_bottling_is_one_that_the_proof_allows(name):
    about, rows = about_of(BY_NAME[name]), lived(name).jar.rows
    last = next(i for i, row in enumerate(rows) if row.event == "bottled")
    before, bottled = rows[:last], rows[last]
    judged = judge(kept(before), at=bottled.when, settings=said(about))
    assert (judged.verdict.answer, judged.verdict.question) == ("go", "bottling")
    known = evidence_for_bottling(kept(before), at=bottled.when, settings=said(about))
    assert proof_of(known).lacks == ()
    after = judge(kept((*before, bottled)), at=bottled.when, settings=said(about))
    assert after.verdict.next.kind is Kind.LAY


def test_what_is_racked_on_a_go_is_clearing_though_nobody_read_it_that_evening():
    falls = (60, 130, 150, 130, 110, 88, 66, 50, 38, 28, 20, 15, 10, 7, 5, 3, 2, 1, 0)
    rows = [
        {"day": 0, "event": "pitched", "sg": 1.056, "litres": 4.5},
        *(
            {"day": d, "bubbles": n, "seconds": 300.0, "temp_c": 18.0}
            for d, n in enumerate(falls, 2)
        ),
        {"day": 18.1, "sg": 1.008},
    ]
    own = Settings(vessels={"fig": VesselSettings(style="perry")})
    rows.sort(key=lambda row: row["day"])
    assert judge(diary(*rows), at=evening(20.05), settings=own).verdict.answer == "go"
    acts = [
        {"day": 20.1, "event": "racked", "litres": 4.3},
        {"day": 20.11, "event": "topped-up", "added_l": 0.2},
    ]
    later = {"day": 54, "sg": 1.007, "temp_c": 17.0}
    for more in (acts[:1], acts, [*acts, later]):
        judged = judge(diary(*rows, *more), at=evening(more[-1]["day"]), settings=own)
        assert judged.phase is Phase.CLEARING
    read = {"day": 18.1, "sg": 1.030}
    high = [read if row["day"] == read["day"] else row for row in rows]
    assert judge(diary(*high, *acts), at=evening(21), settings=own).phase is Phase.FERMENTING


def test_bottling_on_the_evening_of_a_go_is_no_danger_however_rarely_it_was_counted():
    rows = [
        PITCHED,
        *WORKS[:29],
        {"day": 30, "sg": 0.996},
        {"day": 30.1, "event": "racked", "litres": 4.5},
        *(
            {"day": d, "sg": 0.994, "bubbles": 0, "seconds": 300.0, "temp_c": 18.0}
            for d in (60, 97)
        ),
        {"day": 67, "event": "clear"},
        {"day": 67.1, "event": "still"},
    ]
    rows.sort(key=lambda row: row["day"])
    tonight = judge(diary(*rows), at=evening(97))
    assert (tonight.verdict.answer, tonight.verdict.question) == ("go", "bottling")
    assert not any("gravity" in text for text in tonight.verdict.next.also)  # read tonight
    bottled = {"day": 97.1, "event": "bottled", "bottles": "6x75", "closure": "cork"}
    assert judge(diary(*rows, bottled), at=evening(97.2)).verdict.next.kind is Kind.LAY


def test_a_count_of_another_jar_makes_no_bottles_burst_but_one_that_gushed_does():
    rows = [*Kept().rows, event(28.1, "bottled", bottles="6x75", closure="cork")]
    for row, kind in (
        ({"day": 140, "bubbles": 60, "seconds": 300.0}, Kind.WATCH),
        ({"day": 140, "sg": 0.994}, Kind.WATCH),
        ({"day": 140, "event": "gushed"}, Kind.RESCUE),
    ):
        judged = judge(diary(*rows, row), at=evening(141), settings=Settings())
        assert judged.verdict.next.kind is kind


def test_a_bottle_that_gushed_comes_before_wine_that_is_left_in_the_jar():
    part = [*Kept().rows, event(28.1, "bottled", bottles="3x75", litres=2.2), event(32, "gushed")]
    rest = event(33, "bottled", bottles="3x75")
    back = event(33, "poured-back", litres=4.4)
    for rows, kind in (
        (part, Kind.RESCUE),
        ([*part, rest], Kind.RESCUE),
        ([*part, back], Kind.LOOK),
        ([*part, back, event(60, "bottled", bottles="6x75")], Kind.WATCH),
    ):
        judged = judge(diary(*rows), at=evening(161), settings=Settings())
        assert judged.verdict.next.kind is kind


PART = [*Kept().rows, event(28.1, "bottled", bottles="3x75", closure="cork", litres=2.2)]
LOUD = {"day": 132, "bubbles": 30, "seconds": 300.0}
SWEETER = event(28.2, "sweetened", sugar_g=100.0)


@pytest.mark.parametrize(
    ("rows", "kind"),
    [
        ([*PART], Kind.BOTTLE),
        ([*PART, LOUD], Kind.RESCUE),
        ([*PART, LOUD, event(33, "poured-back", litres=4.4)], Kind.COUNT),
        ([*PART, LOUD, event(33, "opened", bottles="3x75")], Kind.COUNT),
        ([*PART, LOUD, event(33, "joined", litres=0.0)], Kind.RESCUE),
        ([*PART, LOUD, event(33, "put-away")], Kind.NOTHING),
        ([*PART, event(28.3, "topped-up", added_l=0.2), LOUD], Kind.RESCUE),  # as good as the same
        ([*PART, event(28.3, "topped-up", added_l=1.0), LOUD], Kind.COUNT),
        ([*PART, SWEETER, LOUD], Kind.COUNT),  # the sugar is in the rest alone
        ([*PART, {"day": 132, "sg": 0.988}, LOUD], Kind.RESCUE),
        ([PITCHED, *WORKS[:9], event(-90, "bottled", bottles="3x75", litres=2.2)], Kind.RESCUE),
        (
            [*PART, LOUD, event(33, "bottled", bottles="2x75", closure="cork")],
            Kind.RESCUE,
        ),
    ],
)
def test_bottles_are_opened_if_the_rest_of_their_wine_is_heard_to_ferment(rows, kind):
    judged = judge(diary(*rows), at=evening(134), settings=Settings())
    assert judged.verdict.next.kind is kind
    assert (judged.course.phase is Phase.BOTTLED) is (kind is Kind.RESCUE)


@pytest.mark.parametrize("what", ["topped-up", "diluted", "joined"])
def test_a_reading_of_the_evening_of_a_pouring_brings_no_earlier_plan(what):
    judged = judge(diary(*Kept().rows, event(28.1, what)), at=evening(128.2), settings=Settings())
    steps = [judged.verdict.next, *judged.course.steps]
    read = [step.on for step in steps if step.kind is Kind.READ]
    (bottle,) = [step.on for step in steps if step.kind is Kind.BOTTLE]
    assert (bottle - read[0]).days >= 14


FIZZ = {"sugar_g": 200.0, "closure": "cork"}


@pytest.mark.parametrize(
    ("rows", "kind"),
    [
        ([event(-96, "bottled", bottles="2x75", litres=3.0)], Kind.RESCUE),  # at work
        ([event(2, "fed", sugar_g=100.0), event(2.1, "bottled", litres=3.0)], Kind.RESCUE),
        ([event(20, "bottled-sparkling", bottles="2x75", litres=3.0, **FIZZ)], Kind.RESCUE),
        ([event(28.05, "bottled-sparkling", bottles="2x75", **FIZZ)], Kind.RESCUE),
        ([event(27, "bottled", bottles="2x75", litres=3.0)], Kind.WATCH),
    ],
)
def test_bottles_that_may_burst_come_before_those_of_the_same_wine_filled_later(rows, kind):
    more = [event(28.1, "bottled", bottles="4x75"), event(29, "poured-back", litres=4.4)]
    known = sorted([*Kept().rows, *rows, more[0]], key=lambda row: row["day"])
    judged = judge(diary(*known), at=evening(128.2), settings=Settings())
    assert judged.verdict.next.kind is kind
    judged = judge(diary(*known, more[1]), at=evening(129.2), settings=Settings())
    assert judged.phase is not Phase.BOTTLED


@pytest.mark.parametrize("bottled", [{}, {"litres": 2.2}])
def test_bottles_are_in_doubt_while_a_note_of_sugar_before_them_is_not_answered(bottled):
    noted = event(28.1, "bottled", bottles="3x75", note="added 200 g sugar", **bottled)
    for more, doubted in (
        ([], True),
        ([event(28.2, "not-fed")], False),
        ([event(30, None, sg=0.994)], False),
        ([event(28.15, "opened", bottles="3x75")], False),
    ):
        judged = judge(diary(*Kept().rows, noted, *more), at=evening(130.1), settings=Settings())
        also = judged.verdict.next.also
        assert any(words.startswith("chill the bottles") for words in also) is doubted
    judged = judge(diary(*Kept().rows, noted), at=evening(130.1), settings=Settings())
    assert "mentions sugar" in judged.verdict.reasons[0].text + judged.verdict.next.do
    fed = event(28.2, "fed", sugar_g=200.0)
    judged = judge(diary(*Kept().rows, noted, fed), at=evening(130.1), settings=Settings())
    assert (judged.verdict.next.kind is Kind.RESCUE) is not bottled


@pytest.mark.parametrize("what", ["topped-up", "diluted", "joined"])
def test_wine_blended_on_the_eve_of_bottling_is_no_safer_than_it_was(what):
    for sg, kind in ((0.994, Kind.WATCH), (1.001, Kind.RESCUE)):
        rows = [*Kept(sg=(sg,) * 5).rows, event(28.1, what), event(29, "bottled", bottles="6x75")]
        judged = judge(diary(*rows), at=evening(129.2), settings=Settings())
        assert judged.verdict.next.kind is kind


def test_bottles_that_a_few_bubbles_make_doubtful_are_chilled_until_it_is_settled():
    few = {"day": 132, "bubbles": 4, "seconds": 300.0}
    for row in (few, event(32, "prickle")):
        judged = judge(diary(*PART, row), at=evening(132.1), settings=Settings())
        assert judged.verdict.next.kind is not Kind.RESCUE
        assert judged.verdict.next.also[0].startswith("chill the bottles already filled")
    unproven = [*Kept(days=(0, 7), sg=(0.994,) * 2).rows, event(8, "bottled", litres=2.2)]
    judged = judge(diary(*unproven), at=evening(108.1), settings=Settings())
    assert judged.verdict.next.kind is not Kind.RESCUE
    assert judged.verdict.next.also[0].startswith("chill the bottles already filled")
    for seen, answer in (
        (few, "still"),
        (event(32, "prickle"), "still"),
        (event(32, "sugar-high"), "sugar-low"),
    ):
        more = [event(d, None, sg=0.994, bubbles=0, seconds=300.0) for d in (35, 46, 60)]
        for row, doubted in ((event(31, answer), True), (event(61, answer), False)):
            rows = sorted([*PART, seen, *more, row], key=lambda r: r["day"])
            judged = judge(diary(*rows), at=evening(161.1), settings=Settings())
            assert (judged.course.facts.doubted_on is not None) is doubted
    drunk = event(32.05, "opened", bottles="3x75")
    judged = judge(diary(*PART, few, drunk), at=evening(132.1), settings=Settings())
    assert not any(words.startswith("chill") for words in judged.verdict.next.also)


@pytest.mark.parametrize(
    ("rows", "kind"),
    [
        ([PITCHED, event(-99, "bottled", bottles="6x75")], Kind.RESCUE),  # the next evening
        ([{**PITCHED, "sg": None}, event(-60, "bottled", bottles="6x75")], Kind.RESCUE),
        ([PITCHED, event(90, "bottled", bottles="6x75")], Kind.RESCUE),  # its must alone was read
        ([{**PITCHED, "sg": None}, event(90, "bottled", bottles="6x75")], Kind.WATCH),
        ([PITCHED, event(90, "bottled", bottles="6x75"), {"day": 191, "sg": 0.994}], Kind.WATCH),
    ],
)
def test_bottles_of_a_wine_that_nobody_read_are_not_safe(rows, kind):
    known = diary(*rows)
    judged = judge(known, at=known.live[-1].when, settings=Settings())
    assert judged.verdict.next.kind is kind


# Part of the wine was left under the airlock and nobody wrote that down, or a bottle was tested.
@pytest.mark.parametrize(
    "more",
    [
        [{"day": 129.0 + d, "bubbles": 60, "seconds": 300.0} for d in (1, 2)],
        [{"day": 130, "bubbles": 0, "seconds": 300.0}, {"day": 140, "event": "sugar-high"}],
    ],
    ids=["bubbles on two evenings", "sugar in a bottle, after a count"],
)
def test_a_count_after_the_bottling_hides_no_danger(more):
    rows = [*Kept(sg=(0.996,) * 5).rows, event(28.1, "bottled", bottles="6x75", closure="cork")]
    known = Settings(vessels={"fig": VesselSettings(style="dry wine")})
    for last, kind in ((more[:1], Kind.WATCH), (more, Kind.RESCUE)):
        judged = judge(diary(*rows, *last), at=evening(141), settings=known)
        assert judged.verdict.next.kind is kind


def test_why_bottles_may_burst_is_said_first():
    known = diary(PITCHED, *WORKS[:9], {"day": 10, "event": "bottled", "bottles": "6x75"})
    judged = judge(known, at=evening(11))
    assert judged.verdict.next.kind is Kind.RESCUE
    assert "while it could still ferment" in judged.verdict.reasons[0].text


# --- the question --------------------------------------------------------------------------------


def test_what_is_asked_never_changes_what_is_next():
    known = diary(PITCHED, *WORKS, {"day": 30, "sg": 0.997})
    asked = [judge(known, at=evening(31), question=q) for q in (None, "racking", "bottling")]
    assert len({one.verdict.next for one in asked}) == 1
    assert [one.verdict.question for one in asked] == ["racking", "racking", "bottling"]
    assert asked[2].verdict.answer == "wait"


def test_a_threshold_for_one_call_never_changes_what_is_next():
    known = diary(PITCHED, *WORKS)
    usual = judge(known, at=evening(30))
    other = judge(known, at=evening(30), threshold_per_min=0.2)
    assert other.verdict.next == usual.verdict.next
    assert other.verdict.threshold_per_min == 0.2


def test_a_jar_that_clears_has_nothing_to_be_racked_off():
    known = read(EXAMPLES / "medlar.csv")
    at = known.live[-1].when
    asked = judge(known, at=at, question="racking", settings=settings(EXAMPLES)).verdict
    assert (asked.answer, asked.firmness) == ("wait", "none")
    assert [reason.code for reason in asked.reasons] == [Code.COURSE]


def test_an_empty_diary_waits_and_is_fermenting():
    judged = judge(diary(), at=evening(1))
    assert (judged.course, judged.phase) == (None, Phase.FERMENTING)
    found = course_object(judged)
    assert (found["verdict"], found["steps"]) == ("wait", [])


@pytest.mark.parametrize(("event", "phase"), [("bottled", "bottled"), ("put-away", "empty")])
def test_a_jar_that_is_done_waits(event, phase):
    known = diary(PITCHED, *WORKS, {"day": 40, "event": event})
    for question in (None, "racking", "bottling"):
        judged = judge(known, at=evening(60), question=question)
        assert (judged.phase, judged.verdict.answer) == (phase, "wait")
        assert judged.verdict.reasons


# --- what the rows are taken for -----------------------------------------------------------------


def test_a_day_of_the_settings_is_a_row_of_that_evening():
    rows = [PITCHED, *WORKS, {"day": 30, "sg": 0.995}, {"day": 31, "event": "racked"}]
    own = VesselSettings(clear_since=evening(40).date(), degassed_on=evening(41).date())
    by_file = judge(diary(*rows), at=evening(60), settings=Settings(vessels={"fig": own}))
    seen = [{"day": 40, "event": "clear"}, {"day": 41, "event": "still"}]
    by_row = judge(diary(*rows, *seen), at=evening(60))
    assert by_file.verdict.next == by_row.verdict.next
    assert by_file.course.facts.cellar.clear_on == evening(40).date()


def test_gravities_are_those_that_a_right_stem_would_read():
    known = diary(PITCHED, *WORKS, {"day": 30, "sg": 1.006})
    own = Settings(hydrometer=Hydrometer(offset=0.005))
    assert judge(known, at=evening(31), settings=own).course.facts.gravity.last.sg < 1.002


def test_a_spare_jar_is_asked_for_nothing():
    own = Settings(vessels={"fig": VesselSettings(spare_for="plum")})
    judged = judge(diary(PITCHED, *WORKS), at=evening(31), settings=own)
    assert judged.verdict.next.kind is Kind.NOTHING


def test_after_midnight_it_is_still_the_evening_before():
    known = diary(PITCHED, *WORKS)
    late = judge(known, at=evening(29) + timedelta(hours=4))  # one in the morning
    assert late.course.asked_on == evening(29).date()
    assert late.verdict.next == judge(known, at=evening(29)).verdict.next


def test_days_are_those_of_the_diary_whatever_the_offset_asked_in():
    known, east = diary(PITCHED, *WORKS), timezone(timedelta(hours=9))
    asked = evening(29)
    assert judge(known, at=asked).course == judge(known, at=asked.astimezone(east)).course


# --- the chance by a day -------------------------------------------------------------------------


def test_the_chance_of_quiet_grows_with_the_days():
    judged = judge(diary(PITCHED, *WORKS[:20]), at=evening(20))
    chances = [quiet_by(judged, evening(20 + d)) for d in (0, 10, 40)]
    assert chances == sorted(chances)
    assert 0.0 <= chances[0] < 0.5 < chances[-1] <= 1.0


def test_no_chance_is_given_without_a_fit_or_with_a_leak():
    assert quiet_by(judge(diary(PITCHED), at=evening(1)), evening(9)) is None
    known = read(EXAMPLES / "russet-cider.csv")
    leaking = judge(known, at=known.live[-1].when, settings=settings(EXAMPLES))
    assert leaking.gravity.leak
    assert quiet_by(leaking, known.live[-1].when) is None


# --- names and spares ----------------------------------------------------------------------------


def test_a_jar_of_another_name_has_the_same_course():
    rows = [PITCHED, *WORKS, {"day": 30, "sg": 0.997}]
    fig, plum = (judge(diary(*rows, vessel=name), at=evening(31)) for name in ("fig", "梅 2"))
    assert fig.course.next == plum.course.next
    assert fig.course.steps == plum.course.steps


def test_a_jar_that_can_be_bottled_on_any_evening_stands_below_those_with_a_day():
    waits = {"day": 99, "event": "bottled", "bottles": "4x75", "litres": 1.5, "closure": "cork"}
    asked = evening(300)
    late, new = diary(*Kept().rows, waits, vessel="a"), diary({**PITCHED, "day": 299}, vessel="b")
    found = due_first([glance(one, at=asked, settings=Settings()) for one in (late, new)])
    assert [one.line.vessel for one in found] == ["b", "a"]
    assert found[1].line.verdict.next.row in ("C18", "C18b")


def test_a_spare_jar_stands_below_every_jar_with_a_day():
    own = Settings(vessels={"a spare": VesselSettings(spare_for="fig")})
    jars = (diary(PITCHED, *WORKS, vessel=name) for name in ("a spare", "fig", "plum"))
    found = due_first([glance(one, at=evening(31), settings=own) for one in jars])
    assert [one.line.vessel for one in found][-1] == "a spare"


def test_what_is_left_of_a_bottled_wine_is_judged_as_before():
    rows = [*Kept().rows, event(28.1, "bottled", bottles="4x75", litres=1.5, closure="cork")]
    left = judge(diary(*rows), at=evening(129), settings=Settings())
    assert left.phase is Phase.CLEARING
    assert left.verdict.next.kind is not Kind.NOTHING
    emptied = [*rows, event(28.2, "bottled", bottles="2x75", closure="cork")]
    assert judge(diary(*emptied), at=evening(129), settings=Settings()).phase is Phase.BOTTLED


def test_a_racking_by_quiet_counts_is_by_bubbles_though_it_was_read_long_before():
    works = [
        {"day": d, "bubbles": n, "seconds": 300.0, "temp_c": 19.0}
        for d, n in enumerate((16, 46, 70, 60, 24, 22, 10, 6, 2, 2), 1)
    ]
    quiet = [{"day": d, "bubbles": 0, "seconds": 300.0, "temp_c": 19.0} for d in range(15, 23)]
    rows = diary(*works, {"day": 5.1, "sg": 1.024}, {"day": 7.1, "sg": 1.014}, *quiet)
    judged = judge(rows, at=evening(23), question="racking", settings=Settings())
    assert judged.course.next.row == "F2"
    assert (judged.verdict.answer, judged.verdict.firmness) == ("go", "bubbles")


def test_a_verdict_on_a_jar_at_work_plans_nothing_beyond_its_next_step(monkeypatch):
    planned = []
    monkeypatch.setattr("bubblerate.course.known.earliest", planned.append)
    monkeypatch.setattr("bubblerate.verdict.proof.earliest", planned.append)
    rows = read(EXAMPLES / "quince.csv")
    judged = judge(rows, at=rows.visits[len(rows.visits) // 2].when)
    assert judged.phase is Phase.FERMENTING
    assert judged.verdict.next.on >= evening_of(judged.verdict.asked_at)
    assert not planned
    judged.proof.find_earliest()
    assert planned  # it would have been seen


def test_a_judgement_can_be_sent_to_another_process_with_all_that_it_has_still_to_work_out():
    judged = judge(read(EXAMPLES / "quince.csv"))
    sent = pickle.loads(pickle.dumps(judged))
    assert course_object(sent) == course_object(judged)
    assert (sent.proof.earliest, sent.proof.tells) == (judged.proof.earliest, judged.proof.tells)


def test_no_bottling_is_planned_before_the_step_that_comes_first():
    jar = Kept(counts=((0, 0, 300), (14, 0, 300), (28, 1, 40)))  # the last count is far too short
    rows = jar.rows
    found = judge(diary(*rows), at=evening(rows[-1]["day"]) + timedelta(hours=1)).course
    assert found.next.kind is Kind.COUNT
    assert found.bottling.soonest >= found.next.on
