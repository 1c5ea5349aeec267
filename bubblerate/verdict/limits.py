"""All limits that a verdict uses, in one table, each with its reason.

A limit is common practice, no source, unless its line says otherwise. "Chosen" means that nobody
else gives a number; ours errs on the safe side. Gravity is SG, falls are points (0.001 SG), rates
are bubbles a minute, chances lie in (0, 1).
"""

from __future__ import annotations

from typing import Final

from ..ferment.gravity import Steadiness
from .reasons import Question

# --- gravity -------------------------------------------------------------------------------------

# What steady gravity means: so many days with no larger fall than this. A wrong go on racking costs
# little, a wrong go on bottling bursts glass.
STEADINESS: Final[dict[Question, Steadiness]] = {
    Question.RACKING: Steadiness(days=3.0, points=2.0),
    Question.BOTTLING: Steadiness(days=14.0, points=1.0),
}
RACK_BELOW_SG: Final = 1.010  # if no finish is set: above it there is sugar to be stuck on
RACK_BELOW_KNOWN_SG: Final = 1.005  # if one is set, and this is lower
RACK_ABOVE_FINISH_POINTS: Final = 5.0  # or this far above where it should end, set or not
DRY_SG: Final = 1.005  # up to here an end is believed even without a start gravity
FERMENTED_SHARE: Final = 0.5  # least share of its sugar gone once a ferment has ended
NEAR_FINISH_POINTS: Final = 2.0  # what a hydrometer can tell
FALLING_POINTS_PER_DAY: Final = 1.0  # a fall faster than the slow end of a ferment
RISE_POINTS: Final = 3.0  # rise over several readings, beyond their scatter
READING_FRESH_DAYS: Final = 7.0
LOW_READING_FRESH_DAYS: Final = 14.0  # gravity only falls: a low reading stays true longer
READ_AGAIN_DAYS: Final = 3.0  # days that racking calls steady
SG_ROUNDING: Final = 1e-6  # rounding of the temperature correction must not cross a limit

# --- what the airlock shows ----------------------------------------------------------------------

SURE: Final = 0.8  # chance of being below the threshold that counts as a yes, with gravity
SURE_ALONE: Final = 0.9  # and without gravity
EVEN_CHANCE: Final = 0.5  # below it, the airlock is more likely bubbling than quiet
COUNT_FRESH_DAYS: Final = 4.0
QUIET_COUNTS: Final = 3  # and days below the threshold, before bubbles alone may say go
QUIET_DAYS: Final = 2.0
QUIET_BUBBLES: Final = 3.0  # bubbles at the threshold in that time; by Poisson, none 1 in 20
SLOWING_COUNTS: Final = 3  # counts with bubbles in them, before a decline is seen
STRONG_PER_THRESHOLD: Final = 3.0  # a rate this many times the threshold is more than old gas
FASTEST_QUIET_PER_MIN: Final = 6.0  # a bubble every 10 s: no threshold makes such a jar quiet
WORKING_PER_THRESHOLD: Final = 2.0  # times the threshold: a ferment was at work
WORKING_BUBBLES: Final = 3  # bubbles counted then, so that it is not chance
SURELY: Final = 0.9  # probability that a rate is no lower than what a count is said to show
SOONEST_COUNT_DAYS: Final = 1.0
LATEST_COUNT_DAYS: Final = 7.0
COUNT_AGAIN_SHARE: Final = 0.25  # share of the days until the threshold: the nearer, the sooner

# Silence from one evening to the next means a leak, cold or a stuck ferment: sugar runs out more
# slowly. Chosen.
SUDDEN_LOG_PER_DAY: Final = 1.3  # natural logarithm: nearly fourfold in a day
SUDDEN_PER_PACE: Final = 4.0  # and this many times the jar's own pace before
OWN_PACE_LOG_PER_DAY: Final = 0.2  # at least: chance alone does this to a level stretch
PACE_COUNTS: Final = 3  # counts before the leap that show its pace
SUDDEN_GAP_DAYS: Final = 2.5  # days; further apart, a slow end may lie between
SUDDEN_BUBBLES: Final = 8  # bubbles before the leap, so that it is not chance
SUDDEN_LEFT_SHARE: Final = 0.5  # of the rate before; back above this, it was no end

# --- what was done, and how warm it was ----------------------------------------------------------

# yeast may be stunned and not finished
STUNNING: Final = frozenset({"sulphited", "stabilised", "fined", "fined-two-part"})
RECENT_DAYS: Final = 14.0  # two weeks: how far bottling looks back
RECHECK_DAYS: Final = RECENT_DAYS  # after such a treatment, before gravity can be believed
STABLE_DAYS: Final = 30.0  # for this long a stabilised wine may be sweetened
TEMP_FRESH_DAYS: Final = 4.0
LEES_DAYS: Final = 21.0  # after a racking, before new lees are worth another one
FED_DAYS: Final = 14.0  # that yeast may need to start on added sugar

# --- what the fit finds odd: chances of what was seen, if the curve is true. Chosen --------------

OUTLIER_CHANCE: Final = 0.9  # above this, a count is surely another jar's or mistyped
OUTLIER_BUBBLES: Final = 5.0  # bubbles counted or expected: one or two may be gas, but no other jar
OUTLIER_FRESH_DAYS: Final = 21.0  # an outlier further back no longer matters
MISREAD_CHANCE: Final = 0.03  # predictive tail probability, both sides, of a reading this far off
MISREAD_RISE_POINTS: Final = 2.0  # more than two readings of one wine by one person differ
ODD_CHANCE: Final = 0.2  # predictive tail probability, both sides, of a count worth mentioning
WEATHER_SHARE: Final = 0.5  # share of what is odd in a count that the air explains

# Bottling: how much sugar may be left, and what must have been seen. 2 points are +1.4 bar at 12 %
# vol and 20 C: 1.6 to 2.3 bar over with the gas already dissolved, no longer still (CETIE guide 1:
# below 1 bar) but semi-sparkling (to 2.5, EU 1493/1999). 5 points are +3.4 bar: sparkling (from 3),
# for which no still bottle is made. No rating of still bottles was found.
FIZZ_POINTS, FIZZ_CHANCE = 2.0, 0.05
BURST_POINTS, BURST_CHANCE = 5.0, 0.01  # chances that are worth a fortnight's wait (our judgement)
# From the readings alone, in case the airlock leaks unseen: many silent evenings may make a steady
# wine surer, but must not outvote readings that fall (our judgement).
UNHEARD_CHANCE: Final = 0.2
READING_HOLDS_DAYS: Final = 30  # our judgement, no source; taken again on the evening itself
LOOK_HOLDS_DAYS, LOOK_MINUTES = 7, 5.0  # our judgement, no source
ODD_POINTS: Final = 2.5  # from the other readings: more than three errors of a steady hand
LOWEST_POINTS: Final = -15.0  # the plausible floor of wine is about 0.985 (trade)
SWEET_POINTS, SWEET_SLEPT = 15.0, 0.15  # the highest end of a perry; the other is our judgement
STRONG_ABV, STRONG_POINTS, STRONG_DAYS = 15.0, 5.0, 365  # yeast that tires (our judgement)
ROUGH_ABV_PER_POINT: Final = 0.131  # right to 0.5 % vol: only decides whether to work it out
HELD_FEWEST: Final = 5  # readings of a stabilised wine that seems to fall (our judgement)
