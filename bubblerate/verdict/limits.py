"""Every limit of a verdict in one table, each with the reason for it.

A limit is common practice, no source, unless its line says otherwise; "chosen" means that nobody
else gives a number and that this one errs on the safe side. Gravity is SG, falls are points
(0.001 SG), rates are bubbles a minute, chances lie in (0, 1).
"""

from __future__ import annotations

from typing import Final

from ..ferment.gravity import Steadiness
from .reasons import Question

# --- gravity -------------------------------------------------------------------------------------

# What steady gravity means: days without more than that many points of fall. A wrong go on racking
# costs little, one on bottling bursts glass.
STEADINESS: Final[dict[Question, Steadiness]] = {
    Question.RACKING: Steadiness(days=3.0, points=2.0),
    Question.BOTTLING: Steadiness(days=14.0, points=1.0),
}
RACK_BELOW_SG: Final = 1.010  # where no finish is set: above it there is sugar to be stuck on
RACK_BELOW_KNOWN_SG: Final = 1.005  # where one is set, if that is lower
RACK_ABOVE_FINISH_POINTS: Final = 5.0  # or so far above where it should end, set or not
DRY_SG: Final = 1.005  # up to here no start is needed to believe in an end
FERMENTED_SHARE: Final = 0.5  # of its sugar at least is gone from a ferment that has ended
NEAR_FINISH_POINTS: Final = 2.0  # what a hydrometer can tell
FALLING_POINTS_PER_DAY: Final = 1.0  # faster than the slow end of a ferment
RISE_POINTS: Final = 3.0  # of several readings, beyond what their scatter makes
READING_FRESH_DAYS: Final = 7.0
LOW_READING_FRESH_DAYS: Final = 14.0  # gravity only falls: a low reading keeps longer
READ_AGAIN_DAYS: Final = 3.0  # the span that racking calls steady
SG_ROUNDING: Final = 1e-6  # of the correction for temperature: no reason to cross a limit

# --- what the airlock shows ----------------------------------------------------------------------

SURE: Final = 0.8  # chance of being below the threshold that counts as a yes beside gravity
SURE_ALONE: Final = 0.9  # and that may stand alone
EVEN_CHANCE: Final = 0.5  # below it the airlock is more likely bubbling than quiet
COUNT_FRESH_DAYS: Final = 4.0
QUIET_COUNTS: Final = 3  # and days, below the threshold, before bubbles alone may say go
QUIET_DAYS: Final = 2.0
QUIET_BUBBLES: Final = 3.0  # that the threshold would have made in them; Poisson: none 1 in 20
SLOWING_COUNTS: Final = 3  # with bubbles in them, before a decline is seen
STRONG_PER_THRESHOLD: Final = 3.0  # a rate so many times the threshold is more than gas leaving
FASTEST_QUIET_PER_MIN: Final = 6.0  # a bubble in 10 s: no threshold makes such a jar quiet
WORKING_PER_THRESHOLD: Final = 2.0  # counted on some evening: a ferment was seen at work
WORKING_BUBBLES: Final = 3  # counted then, so that chance alone makes no ferment
SURELY: Final = 0.9  # probability that a rate is no lower than what a count is said to show
SOONEST_COUNT_DAYS: Final = 1.0
LATEST_COUNT_DAYS: Final = 7.0
COUNT_AGAIN_SHARE: Final = 0.25  # of the days until the threshold: the nearer, the sooner

# Silence from one evening to the next is a leak, the cold or a stuck ferment: sugar runs out more
# gently. Chosen.
SUDDEN_LOG_PER_DAY: Final = 1.3  # natural log: nearly fourfold in a day,
SUDDEN_PER_PACE: Final = 4.0  # and so many times the jar's own pace before
OWN_PACE_LOG_PER_DAY: Final = 0.2  # at least: what chance makes of a level stretch
PACE_COUNTS: Final = 3  # before the leap that show its pace
SUDDEN_GAP_DAYS: Final = 2.5  # no further apart, or a gentle end may lie between
SUDDEN_BUBBLES: Final = 8  # before the leap, so that chance alone makes none
SUDDEN_LEFT_SHARE: Final = 0.5  # of the rate before: what comes back above it was no end

# --- what was done, and how warm it was ----------------------------------------------------------

# yeast may be stunned, not spent
STUNNING: Final = frozenset({"sulphited", "stabilised", "fined", "fined-two-part"})
RECENT_DAYS: Final = 14.0  # two weeks: what bottling looks back on
RECHECK_DAYS: Final = RECENT_DAYS  # after such a treatment, before gravity can be believed
STABLE_DAYS: Final = 30.0  # for so long a stabilised wine may be sweetened
TEMP_FRESH_DAYS: Final = 4.0
LEES_DAYS: Final = 21.0  # after a racking, before new lees are worth another
FED_DAYS: Final = 14.0  # that sugar just added may take to wake the yeast

# --- what the fit finds odd: chances of what was seen, if the curve is true. Chosen --------------

OUTLIER_CHANCE: Final = 0.9  # from here a count is surely of another jar or a digit too many
OUTLIER_BUBBLES: Final = 5.0  # counted or expected: a bubble or two may be gas, but no other jar
OUTLIER_FRESH_DAYS: Final = 21.0  # an outlier longer ago is old news
MISREAD_CHANCE: Final = 0.03  # predictive tail probability, both sides, of a reading so far off
MISREAD_RISE_POINTS: Final = 2.0  # more than two readings of one wine by one hand differ
ODD_CHANCE: Final = 0.2  # predictive tail probability, both sides, of a count worth a word
WEATHER_SHARE: Final = 0.5  # of what is odd in a count, explained by the air

# Bottling: what the proof allows to be left, and what has to have been seen.
# 2 points are +1.4 bar at 12 % vol and 20 C: 1.6 to 2.3 over with what was dissolved, no longer
# still (CETIE guide 1: below 1 bar) but semi-sparkling (to 2.5, EU 1493/1999). 5 points are +3.4
# bar: sparkling (from 3), for which no still bottle is made. No rating of still bottles was found.
FIZZ_POINTS, FIZZ_CHANCE = 2.0, 0.05
BURST_POINTS, BURST_CHANCE = 5.0, 0.01  # the chances weigh a fortnight's wait (our judgement)
# By the readings alone, were the airlock to leak unseen: many silent evenings may make a wine that
# stands surer, but must not outvote readings that fall (our judgement).
UNHEARD_CHANCE: Final = 0.2
READING_HOLDS_DAYS: Final = 30  # our judgement, no source; it is taken again on the evening itself
LOOK_HOLDS_DAYS, LOOK_MINUTES = 7, 5.0  # our judgement, no source
ODD_POINTS: Final = 2.5  # from the others: more than three of a steady hand's errors
LOWEST_POINTS: Final = -15.0  # the plausible floor of wine is about 0.985 (trade)
SWEET_POINTS, SWEET_SLEPT = 15.0, 0.15  # a perry's highest end; the other our judgement
STRONG_ABV, STRONG_POINTS, STRONG_DAYS = 15.0, 5.0, 365  # yeast that tires (our judgement)
ROUGH_ABV_PER_POINT: Final = 0.131  # good to 0.5 % vol: only decides whether to work it out
HELD_FEWEST: Final = 5  # readings of a stabilised wine that seems to fall (our judgement)
