"""All sentences of a verdict: each with its code, its words, and the step that would settle it.

Values are filled in by keyword: `sg` and `finish_sg` as SG, `age_days` and similar in days,
`points` in points, temperatures in C. Dates, rates and the phrases of `reasons` come as text.
"""

from __future__ import annotations

from typing import Final

from .limits import READ_AGAIN_DAYS
from .reasons import COUNT, LOOK_FOR_LEES, PRESS, READ, ROUSE, WARM, Code, Sentence

# --- the airlock, on racking ---------------------------------------------------------------------

NO_COUNTS: Final = Sentence(Code.NO_COUNTS, "There is no bubble count to go by{since}.", COUNT)
COLD_PAUSE: Final = Sentence(
    Code.COLD_PAUSE, "It is at {temp_c:.0f} C{usual}: the yeast may only be resting.", WARM
)
STALE_COUNT: Final = Sentence(
    Code.STALE_COUNT,
    "The last usable count is {age_days:.0f} days old and says little about today.",
    COUNT,
)
FEW_COUNTS_TO_SLOW: Final = Sentence(
    Code.FEW_COUNTS,
    "Too few counts since the peak to show it slowing ({counts} so far, 3 needed).",
    COUNT,
    1.0,
)
ABOVE_THRESHOLD: Final = Sentence(
    Code.ABOVE_THRESHOLD,
    "It still bubbles at about {rate}; the threshold is {threshold}.",
    COUNT,
    1.0,
)
ABOVE_CURVE: Final = Sentence(
    Code.ABOVE_CURVE,
    "The last count, certainly more than {rate}, is far above the curve.",
    COUNT,
    1.0,
)
TOO_FAST: Final = Sentence(
    Code.TOO_FAST,
    "It bubbles at about {rate}: too fast to call quiet at any threshold.",
    COUNT,
    1.0,
)
NEAR_THRESHOLD: Final = Sentence(
    Code.NEAR_THRESHOLD,
    "The rate, about {rate}, is too close to the threshold of {threshold} to call.",
    COUNT,
    1.0,
)
NEVER_WORKED: Final = Sentence(
    Code.NEVER_SEEN_WORKING,
    "No count shows it fermenting: a quiet airlock may mean that it never started.",
    READ,
)
NOT_SEEN_SINCE: Final = Sentence(
    Code.NEVER_SEEN_WORKING, "It is quiet, but no counts show it slowing since it was {done}.", READ
)
SUDDEN_QUIET: Final = Sentence(
    Code.SUDDEN_QUIET,
    "The airlock went quiet faster than sugar runs out: a leak, the cold, or stuck?",
    PRESS,
)
SLOWING_UNSEEN: Final = Sentence(
    Code.SLOWING_UNSEEN,
    "The airlock is quiet, but too few counts show it slowing ({counts}).",
    READ,
)
JUST_QUIET: Final = Sentence(
    Code.JUST_QUIET,
    "The airlock has slowed to {rate}, below {threshold}, but only just.",
    COUNT,
    1.0,
)
BELOW_THRESHOLD: Final = Sentence(
    Code.BELOW_THRESHOLD, "The airlock has slowed to {rate}, below {threshold} ({sure}).", READ
)
GAS_WITHOUT_SUGAR: Final = Sentence(
    Code.GAS_WITHOUT_SUGAR,
    "The last bubbles are most likely dissolved gas leaving: little sugar is left.",
)

# --- gravity, on racking -------------------------------------------------------------------------

JUST_RACKED: Final = Sentence(
    Code.JUST_RACKED,
    "It was racked on {day}: leave it for 3 weeks, or until new lees form.",
    LOOK_FOR_LEES,
)
HINT_WITHOUT_GRAVITY: Final = Sentence(
    Code.NO_GRAVITY, "No gravity has been read{since}: bubbles alone are a hint, not proof.", READ
)
READING_OF_LONG_AGO: Final = Sentence(
    Code.OLD_READING,
    "The last reading, {sg:.3f}, is {age_days:.0f} days old and says little about today.",
    READ,
)
BUBBLES_TOO_FEW: Final = Sentence(
    Code.OLD_READING,
    f"{READING_OF_LONG_AGO.text} The bubbles since then explain {{points:.0f}} points at most.",
    READ,
)
LEAK: Final = Sentence(
    Code.LEAK,
    "The gravity fell {fell}, more than the bubbles explain: gas is getting out elsewhere.",
    PRESS,
)
GRAVITY_FALLING: Final = Sentence(
    Code.GRAVITY_FALLING,
    "The gravity is still falling: {fell}, to {sg:.3f}.",
    READ,
    READ_AGAIN_DAYS,
)
STUCK: Final = Sentence(
    Code.STUCK,
    "The gravity has stopped at {sg:.3f}, {points:.0f} points above the expected finish "
    "({finish_sg:.3f}): possibly stuck.",
    ROUSE,
)
HELD: Final = Sentence(
    Code.STABILISED_UNPROVEN,
    "It was stabilised on {day}: two weeks of readings from then on must show that it stays at "
    "{sg:.3f}.",
    READ,
)
QUIET_BUT_HIGH: Final = Sentence(
    Code.QUIET_BUT_HIGH,
    "The airlock is quiet, but the gravity is {sg:.3f}: a leak, or possibly stuck.",
    PRESS,
)
GRAVITY_HIGH: Final = Sentence(
    Code.GRAVITY_HIGH,
    "The gravity, {sg:.3f}, is still high: about {finish_sg:.3f} is expected.",
    COUNT,
    1.0,
)
GRAVITY_ROSE: Final = Sentence(
    Code.GRAVITY_ROSE,
    "The gravity rose {points:.0f} points to {sg:.3f} with nothing added: misread?",
    READ,
)
FED_LATELY: Final = Sentence(
    Code.FED_LATELY,
    "Sugar was added on {day}, and at {sg:.3f} not all of it has fermented.",
    READ,
    READ_AGAIN_DAYS,
)
STORIES_DIFFER_ON_RACKING: Final = Sentence(
    Code.STORIES_DIFFER,
    "Going by the bubbles, the gravity should have fallen much further than it did ({fell}).",
    READ,
)
STEADY_TO_RACK: Final = Sentence(
    Code.GRAVITY_STEADY,
    "The gravity has stopped moving: {sg:.3f}, within 2 points for {days:.0f} days.",
    READ,
    READ_AGAIN_DAYS,
)
GRAVITY_LOW: Final = Sentence(
    Code.GRAVITY_LOW,
    "The gravity is low, {sg:.3f}, but it may still be falling.",
    READ,
    READ_AGAIN_DAYS,
)

# --- on either question --------------------------------------------------------------------------

BOTTLED: Final = Sentence(Code.BOTTLED, "The wine was bottled on {day}.")
STUNNED: Final = Sentence(
    Code.STUNNED, "It was {event} on {day}: the yeast may be stunned, not spent.", READ
)
NO_CURVE: Final = Sentence(
    Code.NO_CURVE,
    "No curve fits the {counts} counts.",
    COUNT,
    1.0,
)
GRAVITY_IMPOSSIBLE: Final = Sentence(
    Code.GRAVITY_IMPOSSIBLE,
    "The last reading, {sg:.3f}, is lower than any wine reads: misread, or a hydrometer that is "
    "off?",
    READ,
)

# --- in favour of bottling -----------------------------------------------------------------------

STABILISED: Final = Sentence(
    Code.STABILISED, ("It was stabilised, and its gravity has not moved since.")
)
QUIET: Final = Sentence(
    Code.QUIET, "On the evenings counted, it bubbled no more than the weather explains."
)

# --- given with the reasons ----------------------------------------------------------------------

COUNT_OUTLIER: Final = Sentence(
    Code.SLIP,
    "The count of {day}, {count}, does not fit the other evenings: another jar, or an extra "
    "digit? If so, strike it. It counts for little as it is.",
)
READING_OUTLIER: Final = Sentence(
    Code.SLIP,
    "The gravity of {day}, {sg:.3f}, fits neither the bubbles nor the other readings: misread? If "
    "so, strike it.",
)
WEATHER: Final = Sentence(
    Code.WEATHER,
    "The last count is {rate} {way} than the curve, as air pressure or warmth can explain. Count "
    "again on a steady evening.",
)
