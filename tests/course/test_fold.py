"""What each row does to the facts, and what undoes it."""

from __future__ import annotations

from datetime import date

import pytest

from bubblerate.course.days import days_on
from bubblerate.course.engine import course_of
from bubblerate.course.fold import fold
from bubblerate.course.inputs import About, Known
from bubblerate.verdict.reasons import Kind, Phase

from crude import crude
from lives import at, date_of

PITCHED = at(0, event="pitched", sg=1.088, litres=4.5)


def worked(*, until=30):
    """Counts of five minutes that halve every five days from day 2 on."""
    return [
        at(day, bubbles=round(100 * 0.5 ** ((day - 2) / 5.0)), seconds=300.0, temp_c=18.0)
        for day in range(2, until)
    ]


def quiet(start, days=4):
    return [at(day, bubbles=1, seconds=300.0, temp_c=18.0) for day in range(start, start + days)]


FERMENTED = [PITCHED, *worked(), *quiet(30)]
RACKED = [
    *FERMENTED,
    at(34, sg=0.996),
    at(35, event="racked", litres=4.2),
    at(35, event="topped-up", added_l=0.2, litres=4.4),
]


def facts(rows, style=None, **about):
    said = About(style=style, **about)
    return fold(sorted(rows, key=lambda row: row.when), said, crude(said))


def next_of(rows, day, **about):
    return course_of(facts(rows, **about), date_of(day)).next


def test_a_ferment_is_busy_then_slowing_then_quiet_once_low_counts_surely_say_so():
    assert facts([PITCHED, *worked(until=8)]).air.state == "busy"
    assert facts([PITCHED, *worked(until=28)]).air.state == "slowing"
    air = facts(FERMENTED).air
    assert (air.state, air.quiet_on) == ("quiet", date_of(28))


def test_quiet_does_not_go_stale():
    rows = [*FERMENTED, at(34, sg=0.996)]
    assert next_of(rows, 34).kind is Kind.RACK
    assert next_of(rows, 300).kind is Kind.RACK


def test_bubbles_surely_above_the_threshold_after_quiet_are_back():
    air = facts([*FERMENTED, at(50, bubbles=15, seconds=300.0)]).air
    assert (air.state, air.back_on) == ("back", date_of(50))


def test_a_burst_on_the_evening_after_a_racking_is_not_back():
    rows = [*RACKED, at(36, bubbles=40, seconds=300.0)]
    assert facts(rows).air.back_on is None
    assert facts(rows).phase is Phase.CLEARING


def test_racked_near_its_end_it_clears():
    assert facts(RACKED).phase is Phase.CLEARING
    assert facts(RACKED).phase_on == date_of(35)


def test_a_reading_of_the_next_fortnight_says_what_a_racking_was():
    rows = [PITCHED, *worked(until=20), at(20, event="racked")]
    assert facts(rows).phase is Phase.FERMENTING
    assert facts([*rows, at(30, sg=0.998)]).phase is Phase.CLEARING
    assert facts([*rows, at(36, sg=0.998)]).phase is Phase.FERMENTING


def test_racked_at_1_030_and_silent_since_it_asks_about_the_bung_the_next_evening():
    rows = [PITCHED, *worked(until=10), at(10, event="racked", sg=1.030)]
    silent = [*rows, at(12, bubbles=0, seconds=300.0)]
    step = next_of(silent, 12)
    assert (step.row, step.since) == ("F5", date_of(11))
    settled = [*silent, at(12, event="bung-tight"), at(12, sg=1.030)]
    assert next_of(settled, 12).row == "F14"


@pytest.mark.parametrize("event", ["fed", "sweetened"])
def test_sugar_in_clearing_is_a_ferment_again(event):
    again = facts([*RACKED, at(60, event=event, sugar_g=200.0)])
    assert (again.phase, again.sugar_in) == (Phase.FERMENTING, date_of(60))


def test_sugar_in_a_stabilised_wine_moves_the_hold_and_nothing_else():
    rows = [*RACKED, at(60, event="stabilised"), at(62, event="sweetened", sugar_g=90.0)]
    sweet = facts(rows)
    assert (sweet.phase, sweet.cellar.hold_from) == (Phase.CLEARING, date_of(62))
    assert sweet.proof_from == date_of(62)
    step = next_of(rows, 63)
    assert (step.row, step.since) == ("C8", date_of(65))  # it is not known to be clear
    step = next_of([*rows, at(62, event="clear")], 63)
    assert (step.row, step.since) == ("C7", date_of(76))


def test_wines_racked_and_joined_on_one_evening_are_clearing():
    pitched = at(0, event="pitched", sg=1.056, litres=4.5)
    rows = [*worked(), *quiet(30), at(33, sg=1.007), at(35, sg=1.007), at(35, event="racked")]
    perry = [pitched, *rows]
    joined = at(35, event="joined", added_l=4.0, litres=8.0, other="pear")
    for some in (perry, [*perry, joined]):
        assert facts(some, style="perry").phase is Phase.CLEARING


# By hand: 125 mg/L of sorbic acid in 4.5 L are 0.75 g of the salt; 0.3 g is far from it.
@pytest.mark.parametrize(("grams", "holds"), [(None, True), (0.75, True), (0.3, False)])
def test_too_little_sorbate_is_no_stabilising(grams, holds):
    rows = [*RACKED, at(60, event="stabilised", sorbate_g=grams, litres=4.5)]
    assert (facts(rows).cellar.stabilised_on is not None) is holds
    sweet = facts([*rows, at(62, event="sweetened", sugar_g=90.0)])
    assert (sweet.phase is Phase.CLEARING) is holds


def test_stabilising_a_working_ferment_leaves_it_fermenting():
    rows = [PITCHED, *worked(until=10), at(10, event="stabilised")]
    assert facts(rows).phase is Phase.FERMENTING


@pytest.mark.parametrize("event", ["cloudy", "lees", "fined", "stirred"])
def test_clear_is_undone_by_what_clouds_it(event):
    clear = [*RACKED, at(70, event="clear")]
    assert facts(clear).cellar.clear_on == date_of(70)
    assert facts([*clear, at(75, event=event)]).cellar.clear_on is None
    assert facts([*clear, at(70, event=event)]).cellar.clear_on is None


@pytest.mark.parametrize("event", ["racked", "topped-up", "sulphited", "tasted"])
def test_clear_is_not_undone_by_racking_or_topping_up(event):
    clear = [*RACKED, at(70, event="clear"), at(75, event=event)]
    assert facts(clear).cellar.clear_on == date_of(70)


def test_clear_must_last_30_days_or_14_off_finings_or_none_off_a_filter():
    clear = [*RACKED, at(70, event="clear")]
    assert facts(clear).cellar.ripe_on == date_of(100)
    assert facts([*clear, at(80, event="filtered")]).cellar.ripe_on == date_of(80)
    fined = [*RACKED, at(60, event="fined"), at(66, event="clear"), at(66, event="racked")]
    assert facts(fined).cellar.ripe_on == date_of(80)


def test_still_lasts_until_a_prickle_or_bubbles():
    still = [*RACKED, at(70, event="still")]
    assert facts(still).cellar.still_on == date_of(70)
    assert facts([*still, at(90, event="prickle")]).cellar.still_on is None
    assert facts([*still, at(90, bubbles=20, seconds=300.0)]).cellar.still_on is None


def test_a_little_wine_on_top_moves_no_proof_and_more_than_a_tenth_does():
    little = [*RACKED, at(80, event="topped-up", added_l=0.1, litres=4.5)]
    much = [*RACKED, at(80, event="topped-up", added_l=0.6, litres=4.5)]
    assert facts(little).proof_from == date_of(0)
    assert facts(much).proof_from == date_of(81)
    assert facts([*RACKED, at(80, event="diluted")]).proof_from == date_of(81)
    bit_by_bit = [*RACKED, *(at(d, event="topped-up", added_l=0.3) for d in (80, 81))]
    assert facts(bit_by_bit).proof_from == date_of(81)


def test_a_topping_up_of_unknown_size_moves_the_proof_unless_the_litres_tell_its_size():
    unsaid = [*RACKED, at(80, event="topped-up")]
    assert facts(unsaid).proof_from == date_of(81)
    told = [*RACKED, at(79, event="racked", litres=4.3), at(80, event="topped-up", litres=4.5)]
    assert facts(told).proof_from == date_of(0)


def test_put_in_the_cold_it_sleeps_on_purpose_until_it_is_warmed():
    rows = [PITCHED, *worked(until=10), at(10, event="chilled", temp_c=6.0)]
    rows += [at(13, bubbles=0, seconds=300.0, temp_c=6.0)]
    assert next_of(rows, 13).row == "F8"
    assert next_of(rows, 13).since == date_of(43)
    woken = [*rows, at(50, event="warmed", temp_c=18.0)]
    assert next_of(woken, 50).row == "F7"


def test_fallen_cold_on_its_own_it_should_be_warmed_and_two_evenings_of_warmth_end_it():
    rows = [PITCHED, *worked(until=10)]
    rows += [at(day, bubbles=0, seconds=300.0, temp_c=8.0) for day in (11, 12, 13)]
    step = next_of(rows, 13)
    assert (step.row, step.since) == ("F9", date_of(11))
    one = [*rows, at(14, bubbles=0, seconds=300.0, temp_c=18.0)]
    assert facts(one).cold.since == date_of(11)
    assert facts([*one, at(15, temp_c=18.0)]).cold.since is None


def test_a_cool_cider_at_its_own_warmth_is_not_cold():
    rows = [PITCHED] + [
        at(day, bubbles=60, seconds=300.0, temp_c=8.0 + day % 2) for day in range(2, 20)
    ]
    assert facts(rows).cold.since is None


def test_a_reading_far_above_the_one_before_is_questioned_until_another_agrees():
    rows = [*FERMENTED, at(33, sg=0.996), at(34, sg=1.040)]
    assert next_of(rows, 34).row == "A2"
    assert next_of([*rows, at(35, sg=1.040)], 35).row != "A2"


def test_taken_up_in_the_middle_one_low_reading_and_no_bubbles_are_enough_to_rack():
    rows = [at(0, bubbles=0, seconds=300.0), at(0, sg=1.002)]
    assert next_of(rows, 0).kind is Kind.RACK


def test_a_lag_that_is_not_heard_is_no_end():
    rows = [PITCHED, *(at(day, bubbles=0, seconds=300.0) for day in (1, 2, 3, 4))]
    assert next_of(rows, 4).row == "F4"
    assert not course_of(facts(rows), date_of(4)).go()


def test_bubbles_back_over_a_gravity_that_stands_ask_about_malolactic():
    rows = [*RACKED, *quiet(40), at(60, sg=0.996), at(90, bubbles=16, seconds=300.0)]
    assert next_of(rows, 90).row == "C1"
    read = facts([*rows, at(91, sg=0.996)])
    assert read.phase is Phase.CLEARING
    assert read.cellar.malolactic_open
    assert not facts([*rows, at(91, sg=0.996), at(92, event="sulphited")]).cellar.malolactic_open


def test_a_second_pitching_begins_the_facts_anew_when_only_its_rows_are_given():
    again = facts([at(200, event="pitched", sg=1.070)])
    assert (again.began, again.phase) == (date_of(200), Phase.FERMENTING)


def test_bottled_while_it_works_is_a_rescue_till_it_is_poured_back():
    rows = [PITCHED, *worked(until=12), at(12, event="bottled", bottles="6x75")]
    assert next_of(rows, 400).kind is Kind.RESCUE
    back = [*rows, at(13, event="poured-back")]
    assert facts(back).phase is Phase.FERMENTING


def test_wine_left_in_the_jar_keeps_its_phase():
    rows = [*RACKED, at(120, event="bottled", litres=1.5, bottles="4x75")]
    assert facts(rows).phase is Phase.CLEARING


def test_the_last_bottle_opened_empties_it():
    rows = [*RACKED, at(120, event="bottled", bottles="2x75")]
    known = Known(ready=True, chance_fizz=0.01)
    bottled = fold(rows, About(), lambda _: known)
    assert (bottled.phase, bottled.bottles.stock) == (Phase.BOTTLED, 2)
    gone = fold([*rows, *(at(200 + i, event="opened") for i in range(3))], About(), lambda _: known)
    assert gone.phase is Phase.EMPTY


@pytest.mark.parametrize(
    ("sugar_g", "closure", "kind"),
    [(24.0, "crown", Kind.WATCH), (24.0, "cork", Kind.RESCUE), (200.0, "crown", Kind.RESCUE)],
)
def test_primed_on_purpose_is_watched_only_if_the_bottle_is_made_for_its_pressure(
    sugar_g, closure, kind
):
    rows = [*RACKED, at(119, event="still"), at(120, event="fed", sugar_g=sugar_g)]
    shut = at(120, event="bottled-sparkling", sugar_g=sugar_g, closure=closure, bottles="6x75")
    known = Known(ready=True, chance_fizz=0.01)
    primed = fold([*rows, shut], About(full_litres=4.5), lambda _: known)
    assert course_of(primed, date_of(121)).next.kind is kind


def test_a_bottle_that_gushed_calls_for_a_rescue():
    rows = [*RACKED, at(120, event="bottled", bottles="6x75"), at(150, event="gushed")]
    known = Known(ready=True, chance_fizz=0.01)
    step = course_of(fold(rows, About(), lambda _: known), date_of(160)).next
    assert (step.kind, step.since) == (Kind.RESCUE, date_of(150))


def test_put_away_is_off_the_list_and_a_later_row_takes_it_back():
    assert facts([*RACKED, at(90, event="put-away")]).phase is Phase.EMPTY
    assert facts([*RACKED, at(90, event="put-away"), at(91, sg=0.996)]).phase is Phase.CLEARING


def test_ten_points_fallen_since_the_racking_are_a_ferment_again():
    rows = [*FERMENTED, at(34, sg=1.004), at(35, event="racked")]
    assert facts(rows).phase is Phase.CLEARING
    assert facts([*rows, at(60, sg=0.992)]).phase is Phase.FERMENTING


def test_a_big_bucket_is_quiet_at_more_bubbles_than_a_jar():
    rows = [at(0, event="pitched", sg=1.088)]
    rows += [at(day, bubbles=150, seconds=300.0) for day in range(2, 12)]
    rows += [at(day, bubbles=9, seconds=300.0) for day in range(12, 16)]
    assert facts(rows, full_litres=23.0).air.quiet
    assert not facts(rows, full_litres=4.5).air.quiet


def test_a_course_needs_a_row():
    with pytest.raises(ValueError, match="at least one row"):
        fold([], About(), lambda _: Known())


def test_an_earlier_judgement_is_asked_of_the_rows_of_then():
    """A racking on a go stays one when a later reading makes the wine seem far from its end."""
    rows = [*FERMENTED, at(33, sg=1.010), at(34, event="racked")]

    def weigh(some):
        return Known(near=all(row.when <= rows[-1].when for row in some))

    assert fold(rows, About(), weigh).phase is Phase.CLEARING
    later = [*rows, at(80, sg=1.009)]
    assert fold(later, About(), weigh).phase is Phase.CLEARING
    assert days_on(date(2026, 9, 1), 34) == fold(later, About(), weigh).phase_on


def test_lees_seen_soon_after_a_racking_wait_till_it_has_rested_a_fortnight():
    step = next_of([*RACKED, at(38, event="lees")], 38)
    assert (step.row, step.since) == ("C5", date_of(49))


def test_a_reading_made_while_it_worked_rests_five_days_before_the_next():
    rows = [PITCHED, *worked(until=22), at(22, bubbles=30, seconds=300.0), at(22, sg=1.020)]
    rows += [at(day, bubbles=6, seconds=300.0, temp_c=18.0) for day in (23, 24)]
    step = next_of(rows, 24)
    assert (step.row, step.since) == ("F20", date_of(27))


def test_the_rest_of_a_half_bottled_wine_is_another_volume():
    rows = [*RACKED, at(120, event="bottled", litres=1.5, bottles="4x75"), at(121, event="racked")]
    assert (facts(rows).volume.full, facts(rows).volume.low) == (1.5, False)


def test_a_bottle_that_gushed_undoes_still_and_the_proof_before_it():
    back = at(141, event="poured-back", litres=4.2)
    shut = [at(90, event="still"), at(120, event="bottled", bottles="6x75"), back]
    calm, burst = facts([*RACKED, *shut]), facts([*RACKED, *shut, at(140, event="gushed")])
    assert calm.cellar.still_on == date_of(90)
    assert (burst.cellar.still_on, burst.cellar.prickle_on) == (None, date_of(140))
    assert burst.proof_from == date_of(140)


def test_a_racking_clears_where_the_wine_reads_no_lower_since():
    rows = [PITCHED, at(35, event="racked"), at(40, sg=1.004), at(70, sg=1.004)]
    assert facts(rows).phase is Phase.CLEARING
    assert facts([*rows[:2], at(40, sg=1.020), at(70, sg=1.004)]).phase is Phase.FERMENTING
