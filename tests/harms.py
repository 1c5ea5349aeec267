"""Situations in which a go would do harm: what stands there, the rows, `bubblerate.toml`, and the
questions on which go is harm.

A wrong go on bottling bursts glass; a wrong go on racking takes a ferment off its yeast. Common
practice, no source, unless a line says otherwise.
"""

from cases import PITCHED, PROOF, SAID, SLOWED, Z10, slowing

RACK, BOTTLE, BOTH = ("racking",), ("bottling",), ("racking", "bottling")
RACKED = {"day": 18.6, "event": "racked"}  # quiet by then


def silent(first, nights, *, temp_c=19.0, seconds=600.0):
    return [
        {"day": float(first + d), "bubbles": 0, "seconds": seconds, "temp_c": temp_c}
        for d in range(nights)
    ]


def read(*pairs, temp_c=19.0, **more):
    return [{"day": day, "sg": sg, "temp_c": temp_c, **more} for day, sg in pairs]


def event(day, what, **more):
    return {"day": day, "event": what, **more}


def without(name, rows):
    return [{key: value for key, value in row.items() if key != name} for row in rows]


DONE = [PITCHED, *SLOWED, *SAID, *Z10]  # slowed, then three weeks of silence, warm: to day 37
STOPPED = slowing(12, 20, 24, 20, 15, 11, 8, 6, 4)  # to day 9, well short of its end
BUSY = slowing(12, 20, 24, 22, 20, 18, 16, 15)  # to day 8
PROVEN = read((19.1, 0.997), (30.1, 0.997), (37.1, 0.997))
DRY = "[vessel.fig]\nfinish = 0.996\n"

HARM = [
    # --- stuck, cold, never begun
    ("stuck at 1.010 for five days in the cold", [PITCHED, *STOPPED, *silent(10, 6, temp_c=8.0), *read((10.1, 1.010), (15.1, 1.010), temp_c=8.0)], "", BOTH),
    ("stuck at 1.024, warm", [PITCHED, *STOPPED, *silent(10, 6), *read((10.1, 1.024), (15.1, 1.024))], "", BOTH),
    ("stuck at 1.012 for a month, warm", [PITCHED, *STOPPED, *silent(10, 30), *read((10.1, 1.012), (25.1, 1.012), (39.1, 1.012))], "", BOTH),
    ("resting through the winter at its finish, a warm spell ahead", [PITCHED, *STOPPED, *silent(10, 30, temp_c=9.0), *read((10.1, 0.998), (25.1, 0.998), (39.1, 0.998), temp_c=9.0)], "", BOTTLE),
    ("honey must that never began", [PITCHED, *slowing(0.2, 0.2, 0.2, 0.2, 0.2, 0.2), *read((3.0, 1.085), (6.0, 1.085))], "", BOTH),
    ("the hydrometer alone, still at its start", [PITCHED, *read((10.0, 1.085), (25.0, 1.085))], "", BOTH),
    # --- the airlock misleads
    ("a leak: silence, and the gravity falls", [PITCHED, *BUSY, *silent(9, 5), *read((8.1, 1.040), (10.1, 1.034), (13.1, 1.026))], "", BOTH),
    ("a leak that ends low", [PITCHED, *slowing(12, 20, 24, 20, 15, 1, 0, 0, 0, 0, 0, 0), *read((6.1, 1.030), (9.1, 1.020), (12.1, 1.008))], "", BOTH),
    ("silence alone, three weeks of it", DONE, "", BOTTLE),
    ("silence from one evening to the next", [PITCHED, *BUSY, *silent(9, 5)], "", BOTH),
    ("silent for weeks since it was racked at work", [PITCHED, *slowing(12, 20, 24, 20, 15, 11, 8, 6, 4, 3, 2.4, 2.0), *read((12.1, 1.030)), event(12.5, "racked"), *silent(13, 27)], "", BOTH),
    ("silence since the airlock was changed", [PITCHED, *BUSY, event(8.5, "airlock"), *silent(9, 5)], "", BOTH),
    ("moved yesterday", [PITCHED, *SLOWED[:-1], event(17.9, "moved"), *silent(18, 1)], "", BOTH),
    ("silence counted for ten seconds a night", [PITCHED, *BUSY, *silent(9, 5, seconds=10.0)], "", BOTH),
    ("proven, but counted for ten seconds a night", [PITCHED, *SLOWED, *silent(19, 19, seconds=10.0), *PROVEN], "", BOTTLE),
    ("proven, but nothing counted", [PITCHED, *SLOWED, *PROVEN], "", BOTTLE),
    ("a bubble every five minutes for three weeks", [PITCHED, *SLOWED, *slowing(*[0.2] * 19, first=19.0), *PROVEN], "", BOTTLE),
    ("a bubble now and then, counted by the minute", [PITCHED, *SLOWED, *({"day": 19.0 + d, "bubbles": d % 3 // 2, "temp_c": 19.0} for d in range(19)), *PROVEN], "", BOTTLE),
    ("it woke tonight", [*DONE, *PROVEN, {"day": 38.0, "bubbles": 9, "temp_c": 19.0}], "", BOTTLE),
    ("one bubble timed tonight, of twelve a minute", [*DONE, *PROVEN, {"day": 38.0, "bubbles": 1, "seconds": 5.0, "temp_c": 19.0}], "", BOTTLE),
    ("one bubble timed on each of three nights, of one a minute", [*DONE, *PROVEN, *slowing(1.0, 1.0, 1.0, seconds=60.0, first=38.0)], "", BOTTLE),
    ("a threshold set absurdly high", [PITCHED, *slowing(12, 20, 24, 22, 21, 20, 19, 18, 17)], "[threshold]\nper_min = 1000\n", BOTH),
    ("a threshold set high, for a jar in full swing", [PITCHED, *slowing(62, 70, 54, 42, 31, 20, 19, 18, 17)], "[threshold]\nper_min = 30\n", BOTH),
    ("a threshold set high, over a proof", [PITCHED, *SLOWED, *slowing(*[0.3] * 19, first=19.0), *PROVEN], "[threshold]\nper_min = 1000\n", BOTTLE),
    # --- the hydrometer misleads
    ("gravity falls a point a week", [*DONE, *read((16.1, 1.000), (23.1, 0.999), (30.1, 0.998), (37.1, 0.997))], "", BOTTLE),
    ("gravity falls a point in two weeks, for six", [*DONE, *silent(38, 20), *read((16.1, 1.000), (30.1, 0.999), (44.1, 0.998), (57.1, 0.997))], "", BOTTLE),
    ("gravity rises bit by bit", [*DONE, *read((24.1, 0.998), (28.1, 1.000), (32.1, 1.002), (36.1, 1.004))], "", BOTH),
    ("gravity rises bit by bit from its finish", [*DONE, *read((27.1, 0.996), (30.1, 0.9975), (33.1, 0.999), (36.1, 1.0005))], "", BOTH),
    ("two readings of one evening", [*DONE, *read((37.05, 0.997), (37.1, 0.997))], "", BOTTLE),
    ("one reading", [*DONE, *read((37.1, 0.997))], "", BOTTLE),
    ("read at 35 C", [*DONE, *read((19.1, 0.997), (30.1, 0.997), (37.1, 0.997), sample_c=35.0)], DRY, BOTTLE),
    ("not degassed, so it seemed to fall", [*DONE, *read((23.1, 1.000), (37.1, 0.998))], "", BOTTLE),
    ("a refractometer misread by the alcohol, as if sweet", [*DONE, *read((19.1, 1.012), (37.1, 1.012))], "", BOTH),
    ("a stem that reads far too low", [*DONE, *read((19.1, 0.970), (30.1, 0.970), (37.1, 0.970))], "", BOTH),
    ("an offset of the wrong sign", [*DONE, *read((19.1, 1.000), (30.1, 1.000), (37.1, 1.000))], "[hydrometer]\noffset = 0.05\n", BOTH),
    ("misread low while it works", [PITCHED, *slowing(12, 20, 24, 22, 20, 19, 18, 17, 16, 15, 14, 13), *read((8.1, 1.040), (12.1, 0.996))], "", BOTH),
    ("misread high among good ones", [*DONE, *read((24.1, 0.997), (31.1, 1.020), (37.1, 0.997))], "", BOTTLE),
    ("struck, the reading that showed where it began to stand still", [*DONE, *read((37.1, 0.997)), {"day": 20.1, "sg": 0.997, "struck": "2026-11-08T08:00"}], "", BOTTLE),
    ("a proof two weeks old", [*DONE, *read((14.1, 0.997), (23.1, 0.997))], "", BOTTLE),
    ("sweet, as its maker says, with nothing to prove its start", [PITCHED, *without("sg", SLOWED), *Z10, event(18.9, "fed"), *read((19.1, 1.020), (37.1, 1.020))], "[vessel.fig]\nfinish = 1.020\n", BOTTLE),
    ("very sweet, as its maker says", [*DONE, *read((19.1, 1.040), (37.1, 1.040))], "[vessel.fig]\nfinish = 1.040\n", BOTTLE),
    # --- something was done
    ("fed last week, and the sugar still there", [*DONE, event(30.0, "fed"), *read((30.1, 1.010), (37.1, 1.010))], "", BOTH),
    ("fed last night", [*DONE, *PROVEN, event(37.6, "fed")], "", BOTH),
    ("topped up after the proof, and not read since", [*DONE, *PROVEN, event(37.5, "topped-up"), *silent(38, 4)], "", BOTTLE),
    ("topped up with juice after the proof", [*DONE, *PROVEN, event(37.5, "fed"), *silent(38, 4)], "", BOTH),
    ("stabilised last week", [*DONE, *read((19.1, 1.012), (37.1, 1.012)), event(32.0, "stabilised")], "", BOTH),
    ("stabilised, then sweetened, and not proven again", [*DONE, *PROVEN, event(38.0, "stabilised"), event(38.1, "fed"), *silent(39, 5), *read((38.2, 1.020), (43.1, 1.020))], "", BOTH),
    ("stabilised long before it was sweetened", [*DONE, event(38.0, "stabilised"), event(80.0, "fed"), *silent(81, 20), *read((81.1, 1.020), (100.1, 1.020))], "", BOTH),
    ("sulphited on Monday, quiet since", [PITCHED, *BUSY, event(8.5, "sulphited"), *silent(9, 5)], "", BOTH),
    ("proven, and fined last week", [*DONE, *PROVEN, event(33.0, "fined")], "", BOTTLE),
    ("racked last week", [*DONE, *PROVEN, event(33.0, "racked")], "", RACK),
    ("a new must in the same jar", [*DONE, *PROVEN, event(38.0, "pitched", sg=1.080), *silent(39, 3)], "", BOTH),
    ("a new must that nobody wrote down", [*DONE, *PROVEN, *read((38.1, 1.080))], "", BOTH),
    ("already in the bottle", [*DONE, *PROVEN, event(37.5, "bottled")], "", BOTH),
]  # fmt: skip

# An hour after the last row; but where a clock was wrong, as of the day it really is.
CLOCKS = [
    ("rows dated a year ahead", PROOF, -365.0, BOTH),
    (
        "rows dated ten years back",
        PROOF,
        3650.0,
        BOTTLE,
    ),  # silence does not go stale: to rack is right
    ("the proof still lies ahead", PROOF, -15.0, BOTTLE),
    ("asked three weeks after the last row", PROOF, 21.0, BOTTLE),
]
