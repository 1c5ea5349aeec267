"""What must hold of every course: tried on whole lives and on diaries at random."""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import timedelta
from functools import cache
from itertools import pairwise
from pathlib import Path

import pytest

from bubblerate.course import acts
from bubblerate.course.days import days_on, evening_of
from bubblerate.course.engine import course, course_of
from bubblerate.course.evenings import Evenings
from bubblerate.course.fold import fold
from bubblerate.course.parts import LOW_SG
from bubblerate.course.table import REST_DAYS, TABLE
from bubblerate.diary.styles import kind_of
from bubblerate.diary.visit import Diary
from bubblerate.verdict.reasons import Kind, Phase, Question

from anyhow import anyhow, lives, seeds, shifted
from crude import crude
from lives import BY_NAME, about_of, at, days_of, habit, obey

SEEDS = seeds(14)
EVENINGS = 40
NAMES = lives("plum", "cider-10", "elder", "stuck", "strawberry")
KEPT = lives("goose", "strawberry")

# The clock alone may turn a step only into one that was announced with its day.
ANNOUNCED = {
    ("F3", "F4"),
    ("F3b", "F4"),
    ("C3", "C4"),
    ("C17", "C18"),
    ("C17", "C18b"),
    ("C17", "C19"),
    ("C18b", "C18"),
    ("C19", "C18"),
    ("C19", "C18b"),
    ("B2", "B3"),
    ("B2", "B4"),
    ("B3", "B4"),
    ("B4", "B4"),
    ("B4", "B5"),
    ("B4", "B6"),
    ("B6", "B5"),
}


@cache
def folded(seed):
    rows, about = anyhow(seed)
    return rows, about, fold(rows, about, crude(about))


def after_the_last_row(seed, days=EVENINGS):
    """The course of each evening from the newest row on, with nothing more written."""
    rows, _, facts = folded(seed)
    newest = evening_of(rows[-1].when)
    return [course_of(facts, days_on(newest, i)) for i in range(days)]


@cache
def played(name):
    return obey(BY_NAME[name])


@cache
def kept(name):
    """A life kept by habit: each evening's course and the rows it was made of."""
    wine = BY_NAME[name]
    about = about_of(wine)
    evenings = []
    for day, jar in habit(wine, days=330):
        rows = tuple(jar.rows)
        if day % 5 == 0:
            evenings.append((rows, course(rows, about, crude(about), evening_of(at(day).when))))
    return evenings


def told(now):
    """What a screen would show of a course, without its facts."""
    return now.phase, now.question, now.next, now.steps, now.bottling, now.drinking


# 2, 4, 7, 21: time alone


@pytest.mark.parametrize("seed", SEEDS)
def test_time_alone_turns_a_step_only_into_one_that_was_announced(seed):
    evenings = after_the_last_row(seed)
    for before, now in pairwise(evenings):
        if (before.next.row, before.next.since) == (now.next.row, now.next.since):
            continue
        dropped = before.next.row == "C6" and before.next.until < now.asked_on
        assert dropped or (before.next.row, now.next.row) in ANNOUNCED
        assert now.next.row != "C18b" or before.next.since <= now.next.since


@pytest.mark.parametrize("seed", SEEDS)
def test_no_request_recedes(seed):
    evenings = after_the_last_row(seed)
    for before, now in pairwise(evenings):
        if before.next.row == now.next.row and before.next.kind is not Kind.WATCH:
            assert now.next.since == before.next.since


@pytest.mark.parametrize("seed", SEEDS)
def test_a_step_is_never_before_the_evening_asked_nor_its_day_after_it(seed):
    for now in after_the_last_row(seed):
        for step in (now.next, *now.steps):
            assert step.on >= now.asked_on
            assert step.since <= step.on
            assert step.until is None or step.until >= step.since


@pytest.mark.parametrize("seed", SEEDS)
def test_phase_and_windows_move_only_with_a_row(seed):
    evenings = after_the_last_row(seed)
    assert len({(now.phase, now.bottling, now.drinking) for now in evenings}) == 1


# 3: days rest on rows


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("days", [1, 30, 400])
def test_moving_all_rows_by_whole_days_moves_every_day_by_as_many(seed, days):
    rows, about, facts = folded(seed)
    later = shifted(rows, days)
    on = days_on(evening_of(rows[-1].when), 3)
    now = course_of(facts, on)
    then = course_of(fold(later, about, crude(about)), days_on(on, days))
    assert then.next.row == now.next.row
    assert then.phase == now.phase
    if now.next.kind is not Kind.DRINK:  # months are not all of one length
        assert then.next.since == days_on(now.next.since, days)


# 5: rest


@pytest.mark.parametrize("seed", SEEDS)
def test_no_kind_is_next_before_it_was_done_and_has_rested(seed):
    _, _, facts = folded(seed)
    own = {row.code: row.rest for rows in TABLE.values() for row in rows}
    for now in after_the_last_row(seed, 3):
        done = facts.done.get(now.next.kind)
        if done is None or now.next.kind not in REST_DAYS:
            continue
        rest = own[now.next.row]
        rest = REST_DAYS[now.next.kind] if rest is None else rest
        assert now.next.since >= days_on(done, rest)


@pytest.mark.parametrize("seed", SEEDS)
def test_a_reading_is_not_asked_for_within_days_of_another(seed):
    for now in after_the_last_row(seed, 3):
        read = now.facts.gravity.read_on
        if now.next.kind is Kind.READ and read is not None and now.next.row not in ("C12a", "C1"):
            rest = 14 if now.phase is Phase.CLEARING else 5
            assert now.next.since >= days_on(read, rest)


# 6, 8: the verdict


@pytest.mark.parametrize("seed", SEEDS)
def test_go_is_the_act_asked_about_once_its_day_has_come(seed):
    for now in after_the_last_row(seed):
        for question in Question:
            is_act = now.next.kind.value == {"racking": "rack", "bottling": "bottle"}[question]
            assert now.go(question) == (is_act and now.next.since <= now.asked_on)
        assert now.question is (
            Question.RACKING if now.phase is Phase.FERMENTING else Question.BOTTLING
        )


# 9, 10: what a go rests on, worked out again from the rows


def goes(courses, question):
    return [now for now in courses if now.go(question)]


def rests_of_racking(rows, now):
    jar = Evenings(rows)
    began = now.facts.sugar_in
    worked = [c for c in jar.counts(began) if c.per_min >= 2.0]
    taken_up = not any(r.event == "pitched" for r in rows)
    low = [r for r in jar.readings if r.on > began or taken_up]
    return worked or [r for r in low if r.sg <= max(LOW_SG, now.facts.gravity.low_sg)]


@pytest.mark.parametrize("seed", SEEDS)
def test_no_go_on_racking_a_jar_that_was_neither_heard_nor_read_near_its_end(seed):
    rows, _, _ = folded(seed)
    for now in goes(after_the_last_row(seed), Question.RACKING):
        assert now.phase is Phase.CLEARING or rests_of_racking(rows, now)


def lacks_for_bottling(rows, about, now):
    """Names of what a go on bottling lacks, by the rows alone."""
    jar, facts = Evenings(rows), now.facts
    newest = jar.newest
    proof = [r.on for r in jar.readings if r.on >= facts.proof_from]
    fives = [c.on for c in jar.counts(facts.sugar_in) if c.minutes >= 5.0]
    clear = newest({"clear", "filtered"})
    hazy = newest({"cloudy", "lees", "fined", "fined-two-part"})
    by_filter = newest({"filtered"})
    still, prickle = newest({"still"}), newest({"prickle"})
    bacteria = kind_of(about.style).malolactic
    lacks = {
        "readings": not proof or (max(proof) - min(proof)).days < 14,
        "clear": clear is None
        or (hazy is not None and hazy >= clear and not (by_filter and by_filter >= hazy)),
        "still": still is None or (prickle is not None and prickle >= still),
        "count": not fives or (now.asked_on - fives[-1]).days > 7,
        "reading stale": (now.asked_on - max(proof)).days > 30 if proof else True,
        "malolactic": bacteria and newest({"malolactic-over", "sulphited", "stabilised"}) is None,
        "back": facts.air.back_on is not None and facts.gravity.read_on < facts.air.back_on,
        "woke": facts.known.woke_on is not None,
    }
    return [name for name, lacking in lacks.items() if lacking]


@pytest.mark.parametrize("name", KEPT)
def test_no_go_on_bottling_a_jar_kept_by_habit_without_all_that_it_rests_on(name):
    about = about_of(BY_NAME[name])
    for rows, now in kept(name):
        if now.go(Question.BOTTLING):
            assert not lacks_for_bottling(rows, about, now)


@pytest.mark.parametrize("name", NAMES)
def test_no_go_on_bottling_without_all_that_it_rests_on(name):
    about, play = about_of(BY_NAME[name]), played(name)
    said = [(day, now) for day, now in play.seen if now.go(Question.BOTTLING)]
    for day, now in said:
        rows = tuple(row for row in play.jar.rows if days_of(row) <= day)
        before = tuple(row for row in rows if row.event != "bottled")
        assert not lacks_for_bottling(before, about, now)


@pytest.mark.parametrize("seed", seeds(24))
def test_no_go_on_bottling_a_diary_at_random_without_all_that_it_rests_on(seed):
    rows, about = anyhow(seed)
    extra = (at(days_of(rows[-1]) + 1, event="clear"), at(days_of(rows[-1]) + 1, event="still"))
    rows = (*rows, *extra)
    facts = fold(rows, about, crude(about))
    for days in (1, 20, 31, 40):
        now = course_of(facts, days_on(evening_of(rows[-1].when), days))
        if now.go(Question.BOTTLING):
            assert not lacks_for_bottling(rows, about, now)


# 11: more danger never opens


def worse(rng, day):
    """A row that can only mean more danger."""
    return rng.choice(
        (
            at(day, bubbles=40, seconds=300.0),
            at(day, event="prickle"),
            at(day, event="lees"),
            at(day, event="cloudy"),
            at(day, event="fed", sugar_g=200.0),
            at(day, sg=1.012),
            at(day, temp_c=4.0),
        )
    )


@pytest.mark.parametrize("seed", seeds(30, 120))
def test_a_row_that_means_more_danger_never_turns_wait_into_go(seed):
    rows, about, facts = folded(seed)
    on = days_on(evening_of(rows[-1].when), 1)
    row = worse(random.Random(seed), days_of(rows[-1]) + 1)
    before = course_of(facts, on)
    now = course(sorted((*rows, row), key=lambda r: r.when), about, crude(about), on)
    assert not now.go(Question.BOTTLING) or before.go(Question.BOTTLING)
    if before.phase is now.phase is Phase.FERMENTING:
        assert not now.go(Question.RACKING) or before.go(Question.RACKING)


# 12: what undoes nothing


@pytest.mark.parametrize("event", ["sulphited", "tasted", "topped-up", "racked", "moved"])
@pytest.mark.parametrize("name", lives("plum", "cider-10"))
def test_what_undoes_nothing_asks_for_no_new_proof(name, event):
    ready = next((day, now) for day, now in played(name).seen if now.next.kind is Kind.BOTTLE)
    day, now = ready
    rows = tuple(r for r in played(name).jar.rows if days_of(r) <= day and r.event != "bottled")
    about = about_of(BY_NAME[name])
    added = 0.3 if event == "topped-up" else None
    later = fold((*rows, at(day, event=event, added_l=added)), about, crude(about))
    assert later.proven
    assert later.cellar.clear_on == now.facts.cellar.clear_on
    assert course_of(later, now.asked_on).next.kind is Kind.BOTTLE


@pytest.mark.parametrize("name", lives("plum", "cider-10"))
def test_cold_alone_never_undoes_a_proof(name):
    play = played(name)
    day, now = next((d, n) for d, n in play.seen if n.next.kind is Kind.BOTTLE)
    rows = tuple(r for r in play.jar.rows if days_of(r) <= day and r.event != "bottled")
    cold = (at(day, event="chilled", temp_c=4.0), at(day, temp_c=4.0))
    about = about_of(BY_NAME[name])
    later = fold((*rows, *cold), about, crude(about))
    assert later.proven
    assert course_of(later, now.asked_on).next.kind is Kind.BOTTLE


# 13, 14, 18


@pytest.mark.parametrize("event", ["strained", "pressed", "racked"])
def test_off_the_fruit_or_racked_at_1_030_it_still_ferments(event):
    rows = (
        at(0, event="pitched", sg=1.088),
        *(at(d, bubbles=60, seconds=300.0) for d in (2, 4, 6)),
        at(7, event=event, sg=1.030, litres=4.5),
    )
    about = about_of(BY_NAME["plum"])
    facts = fold(rows, about, crude(about))
    assert facts.phase is Phase.FERMENTING


@pytest.mark.parametrize("event", ["strained", "pressed"])
def test_off_the_fruit_near_its_end_it_is_not_racked_yet(event):
    rows = [r for r in played("plum").jar.rows if r.event != "racked"]
    rows = [r for r in rows if days_of(r) <= played("plum").racked_day]
    about = about_of(BY_NAME["plum"])
    rows = tuple(r for r in rows if r.event != "topped-up")
    facts = fold((*rows, at(days_of(rows[-1]), event=event)), about, crude(about))
    assert facts.gravity.near
    assert facts.phase is Phase.FERMENTING


@pytest.mark.parametrize("name", NAMES)
def test_fed_while_it_clears_it_ferments_again_unless_it_was_stabilised(name):
    play = played(name)
    clearing = [(day, now) for day, now in play.seen if now.phase is Phase.CLEARING]
    day, now = clearing[-1]
    rows = tuple(r for r in play.jar.rows if days_of(r) <= day and r.event != "bottled")
    about = about_of(BY_NAME[name])
    facts = fold((*rows, at(day + 1, event="fed", sugar_g=200.0)), about, crude(about))
    held = now.facts.cellar.stabilised_on is not None
    assert facts.phase is (Phase.CLEARING if held else Phase.FERMENTING)


@pytest.mark.parametrize("seed", SEEDS)
def test_in_clearing_it_is_racked_only_off_finings_lees_or_haze_and_never_after_a_filter(seed):
    for now in after_the_last_row(seed, 40):
        if now.phase is Phase.CLEARING and now.next.kind is Kind.RACK:
            assert now.next.row in ("C4", "C5", "C10")
            assert now.next.row == "C4" or not now.facts.cellar.filtered


@pytest.mark.parametrize("seed", SEEDS)
def test_fed_after_stabilising_never_asks_for_warmth_stirring_or_fresh_yeast(seed):
    rows, about, _ = folded(seed)
    day = days_of(rows[-1]) + 1
    rows = (*rows, at(day, event="stabilised"), at(day + 20, event="fed", sugar_g=100.0))
    rows = tuple(r for r in rows if r.event not in acts.BOTTLINGS)
    facts = fold(rows, about, crude(about))
    for days in (0, 10, 20):
        kind = course_of(facts, days_on(evening_of(rows[-1].when), days)).next.kind
        assert kind not in (Kind.ROUSE, Kind.RESTART)


# 15, 16: obeying


@pytest.mark.parametrize("name", NAMES)
def test_obeying_ends_in_the_bottle_within_so_many_visits(name):
    play = played(name)
    assert play.bottled_day is not None
    in_ferment = play.racked_day or play.bottled_day
    assert len({day for day, _ in play.asked}) < 20 + in_ferment
    assert play.bottled_left < 2.0


@pytest.mark.parametrize("name", NAMES)
def test_nothing_answered_is_asked_again_the_same_evening(name):
    asked = [(day, step.row) for day, step in played(name).asked]
    assert len(asked) == len({*asked})


@pytest.mark.parametrize("name", NAMES)
def test_a_jar_that_can_spare_no_more_wine_is_told_to_float_it(name):
    for _, step in played(name).asked:
        told_to = any("float" in text for text in step.also)
        assert step.kind is Kind.READ or not told_to
    for _, now in played(name).seen:
        if now.next.kind is Kind.READ:
            assert any("float" in t for t in now.next.also) == now.facts.samples_spent


# 17: while it works, while it sleeps


def quiet_lives():
    return [(name, now) for name in NAMES for _, now in played(name).seen]


def test_no_reading_is_asked_for_while_it_works():
    busy = [n for _, n in quiet_lives() if n.facts.air.state == "busy" and n.phase == "fermenting"]
    assert busy
    assert not [now for now in busy if now.next.kind is Kind.READ]


def test_a_jar_asleep_from_the_cold_is_neither_racked_roused_nor_bottled():
    asleep = [n for _, n in quiet_lives() if n.phase is Phase.FERMENTING and n.facts.asleep]
    assert asleep
    forbidden = (Kind.RACK, Kind.ROUSE, Kind.RESTART, Kind.BOTTLE)
    assert not [now for now in asleep if now.next.kind in forbidden]


# 19, 24, 26, 29: how rows are written


@pytest.mark.parametrize("seed", SEEDS)
def test_rows_of_one_evening_may_come_in_any_order(seed):
    rows, about, facts = folded(seed)
    if any(r.event == "pitched" for r in rows[1:]):
        return
    shuffled = list(rows)
    random.Random(seed).shuffle(shuffled)
    shuffled.sort(key=lambda row: evening_of(row.when))
    on = days_on(evening_of(rows[-1].when), 2)
    again = course_of(fold(shuffled, about, crude(about)), on)
    assert told(again) == told(course_of(facts, on))


@pytest.mark.parametrize("seed", SEEDS)
def test_a_row_at_half_past_midnight_belongs_to_the_evening_before(seed):
    rows, about, facts = folded(seed)
    late = [replace(r, when=r.when.replace(hour=21, minute=0)) for r in rows]
    late = [replace(r, when=r.when + timedelta(hours=3.5)) for r in late]
    on = days_on(evening_of(rows[-1].when), 2)
    assert told(course_of(fold(late, about, crude(about)), on)) == told(course_of(facts, on))


@pytest.mark.parametrize("seed", SEEDS)
def test_counts_cut_into_minutes_give_the_same_course(seed):
    rows, about, facts = folded(seed)
    cut = []
    for row in rows:
        if row.bubbles is None or row.seconds < 120.0:
            cut.append(row)
            continue
        part = replace(row, bubbles=row.bubbles // 2, seconds=60.0)
        rest = replace(
            row,
            bubbles=row.bubbles - row.bubbles // 2,
            seconds=row.seconds - 60.0,
            event=None,
            sg=None,
            temp_c=None,
        )
        cut += [part, rest]
    on = days_on(evening_of(rows[-1].when), 2)
    assert told(course_of(fold(cut, about, crude(about)), on)) == told(course_of(facts, on))


@pytest.mark.parametrize("seed", SEEDS)
def test_a_row_that_is_struck_leaves_the_course_of_the_diary_without_it(seed):
    rows, about, facts = folded(seed)
    slip = at(days_of(rows[-1]), bubbles=90, seconds=60.0, sg=1.050, struck="2026-11-01")
    known = Diary(path=Path("fig.csv"), vessel="fig", visits=(*rows, slip))
    on = days_on(evening_of(rows[-1].when), 2)
    again = fold(known.batch, about, crude(about))
    begun = [r.event for r in rows].count("pitched") > 1  # the batch is then the later wine alone
    assert begun or told(course_of(again, on)) == told(course_of(facts, on))


# 20: split and joined


@pytest.mark.parametrize("name", NAMES)
def test_a_jar_that_was_split_goes_its_way_and_one_that_was_joined_proves_anew(name):
    play = played(name)
    day, now = next((d, n) for d, n in play.seen if n.next.kind is Kind.BOTTLE)
    rows = tuple(r for r in play.jar.rows if days_of(r) <= day and r.event != "bottled")
    about = about_of(BY_NAME[name])
    split = fold((*rows, at(day, event="split", litres=2.0, other="jug")), about, crude(about))
    assert split.proven
    assert split.phase is now.phase
    assert course_of(split, now.asked_on).next.kind is Kind.BOTTLE
    rows = (*rows, at(day, event="joined", sg=0.995, other="jug"))
    for later in range(14):
        joined = fold((*rows, at(day + later, sg=0.995)), about, crude(about))
        assert not course_of(joined, days_on(now.asked_on, later)).go(Question.BOTTLING)


# 21: the window


@pytest.mark.parametrize("name", NAMES)
def test_once_it_is_clear_ended_and_proven_the_window_is_a_day(name):
    ready = [n for _, n in played(name).seen if n.facts.cellar.clear_on and n.facts.proven]
    assert ready
    for now in ready:
        assert now.bottling.low == now.bottling.high


# 22, 23: bottled


@pytest.mark.parametrize("opened", [0, 5, 6, 9])
def test_the_stock_is_never_below_none_and_the_last_bottle_empties_the_jar(opened):
    rows = played("plum").jar.rows
    drunk = [at(days_of(rows[-1]) + 100 + n, event="opened") for n in range(opened)]
    about = about_of(BY_NAME["plum"])
    facts = fold((*rows, *drunk), about, crude(about))
    assert facts.bottles.stock == max(0, 6 - opened)
    assert (facts.phase is Phase.EMPTY) == (opened >= 6)


@pytest.mark.parametrize("seed", SEEDS)
def test_a_wine_in_bottle_is_rescued_laid_watched_or_drunk_and_a_rescue_outlives_the_clock(seed):
    rows, about, _ = folded(seed)
    rows = tuple(r for r in rows if r.event not in ("bottled", "bottled-sparkling", "put-away"))
    if not rows:
        return
    day = days_of(rows[-1]) + 1
    rows = (*rows, at(day, event="bottled", bottles="6x75", closure="cork"))
    facts = fold(rows, about, crude(about))
    kinds = [course_of(facts, days_on(evening_of(rows[-1].when), d)).next.kind for d in (0, 9, 900)]
    assert {*kinds} <= {Kind.RESCUE, Kind.LAY, Kind.WATCH, Kind.DRINK}
    assert (Kind.RESCUE in kinds) == (kinds[0] is Kind.RESCUE)
    if kinds[0] is Kind.RESCUE:
        assert {*kinds} == {Kind.RESCUE}


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("stabilised", [False, True])
def test_sugar_within_two_days_of_the_bottling_is_always_a_rescue(seed, stabilised):
    rows, about, _ = folded(seed)
    rows = tuple(r for r in rows if r.event not in acts.BOTTLINGS | {"poured-back", "put-away"})
    if not rows:
        return
    day = days_of(rows[-1]) + 30
    rows = (
        *rows,
        *((at(day - 20, event="stabilised"),) if stabilised else ()),
        at(day, event="bottled", bottles="6x75"),
        at(day + 1, event="fed", sugar_g=40.0),
    )
    facts = fold(rows, about, crude(about))
    assert course_of(facts, evening_of(rows[-1].when)).next.kind is Kind.RESCUE


# 27, 28: the table is total


@pytest.mark.parametrize("seed", SEEDS)
def test_the_steps_lead_to_a_glass_and_their_days_never_go_back(seed):
    for now in after_the_last_row(seed, 5):
        steps = (now.next, *now.steps)
        assert steps[-1].kind in (Kind.DRINK, Kind.STABILISE, Kind.RESCUE, Kind.NOTHING)
        assert [s.on for s in steps] == sorted(s.on for s in steps)
        bottling = [s for s in now.steps if s.kind is Kind.BOTTLE]
        if now.bottling is not None and bottling:
            assert now.bottling.low >= now.bottling.soonest
            assert bottling[0].on >= now.bottling.low


@pytest.mark.parametrize("seed", SEEDS)
def test_a_spare_jar_asks_for_nothing(seed):
    rows, about, _ = folded(seed)
    spare = replace(about, spare_for="plum")
    facts = fold(rows, spare, crude(spare))
    if facts.phase in (Phase.FERMENTING, Phase.CLEARING):
        assert course_of(facts, evening_of(rows[-1].when)).next.kind is Kind.NOTHING
