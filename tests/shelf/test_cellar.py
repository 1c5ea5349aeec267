"""The cellar: how many, where, and when to drink."""

from datetime import date

import pytest

from bubblerate.diary.outcomes import Opened
from bubblerate.diary.settings import Settings, VesselSettings
from bubblerate.shelf.cellar import Ready, lots
from bubblerate.show.cellar_text import cellar_csv, cellar_text

from kept import Kept, event
from scenes import diary, evening

BOTTLED = event(28.1, "bottled", bottles="6x75", closure="cork")
SAID = Settings(
    vessels={"plum": VesselSettings(finish=0.996, style="plum wine", place="under the stairs")}
)


def found(*more, day=160, kept=None):
    rows = sorted([*(kept or Kept()).rows, BOTTLED, *more], key=lambda row: row["day"])
    jar = diary(*rows, vessel="plum")
    return lots([jar, diary({"day": 0})], at=evening(day), settings=SAID, of=lambda _: None)


def test_a_lot_says_where_how_many_and_when():
    (lot,) = found()
    assert (lot.vessel, lot.left.left, lot.filled, lot.closure) == ("plum", 6, "6x75", "cork")
    assert lot.place == "under the stairs"
    assert lot.bottled_on == date(2027, 2, 6)
    assert (lot.drink_from, lot.best_by) == (date(2027, 8, 6), date(2031, 2, 6))
    assert 11.0 < lot.abv_pct.middle < 13.0


def test_an_opened_bottle_is_taken_off_and_its_note_kept():
    (lot,) = found({"day": 400, "event": "opened", "note": "soft, almond"}, day=401)
    assert (lot.left.left, lot.tasted) == (5, "soft, almond")


def test_bottles_that_were_carried_lie_where_the_note_says():
    (lot,) = found({"day": 200, "event": "moved", "note": "shed, top"}, day=201)
    assert lot.place == "shed, top"


@pytest.mark.parametrize(
    ("day", "ready"),
    [
        (160, Ready.KEEP),
        (128 + 181, Ready.DRINK),
        (128 + 48 * 30.44 - 30, Ready.SOON),
        (128 + 48 * 30.44 + 30, Ready.PAST),
    ],
)
def test_each_wine_has_its_time(day, ready):
    assert found(day=day)[0].ready is ready


def test_bottles_in_doubt_are_chilled_until_the_rest_in_the_jar_settles_it():
    part = event(28.1, "bottled", bottles="3x75", litres=2.2)
    known = diary(*Kept().rows, part, event(32, "prickle"), vessel="plum")
    some = lots([known], at=evening(133), settings=Settings(), of=lambda _: None)
    assert some[0].ready is Ready.CHILL
    assert "chill: in doubt" in cellar_text(some, date(2027, 2, 11), width=92)


def test_bottles_that_may_burst_stand_on_top():
    working = Kept(sg=(1.020,) * 5)
    assert found(kept=working)[0].ready is Ready.STOP
    text = cellar_text(found(kept=working), date(2027, 3, 10), width=92)
    assert "6 of 6x75 cl  -           -            stop" in text
    assert "its bottles may burst; see bubblerate verdict plum" in " ".join(text.split())


def test_the_table_and_the_csv_say_the_same():
    some = found({"day": 400, "event": "opened", "note": "=soft"}, day=401)
    text = cellar_text(some, date(2027, 11, 5), width=92)
    assert text.splitlines()[0] == "Cellar, 5 Nov 2027: 5 bottles"
    assert "plum  5 of 6x75 cl  Aug 2027    Feb 2031     drink  under the stairs" in text
    head, row, end = cellar_csv(some).split("\n")
    assert end == ""
    cells = dict(zip(head.split(","), row.replace('"', "").split(","), strict=True))
    assert (cells["left"], cells["drink_from"], cells["best_before"]) == (
        *("5", "2027-08-06", "2031-02-06"),
    )
    assert cells["tasted"] != "=soft"  # no formula of a spreadsheet


def test_bottles_of_two_sizes_are_counted_by_size():
    small = {"day": 129, "event": "bottled", "bottles": "2x37.5", "closure": "cork"}
    taken = {"day": 400, "event": "opened", "bottles": "1x37.5"}
    some = found(small, taken, day=401)
    text = cellar_text(some, date(2027, 11, 5), width=92)
    assert "6 of 75 cl, 1 of" in text
    assert "Cellar, 5 Nov 2027: 7 bottles" in text
    assert "6x75+1x37.5" in cellar_csv(some)
    unsized = found(small, {"day": 400, "event": "opened"}, day=401)
    assert "less 1 of a size not noted" in " ".join(
        cellar_text(unsized, date(2027, 11, 5), width=200).split()
    )


def test_nothing_in_bottles_is_an_empty_cellar():
    assert lots([diary({"day": 0})], at=evening(1), settings=SAID, of=lambda _: None) == []


def test_a_lot_knows_the_wine_poured_into_it():
    spare = Opened(diary({"day": 0, "event": "pitched", "sg": 1.2}), Settings(), ())
    rows = sorted(
        [*Kept().rows, BOTTLED, event(5, "topped-up", added_l=0.2, other="spare")],
        key=lambda row: row["day"],
    )
    jars = [diary(*rows, vessel="plum")]
    (lot,) = lots(jars, at=evening(160), settings=SAID, of={"spare": spare}.get)
    assert lot.abv_pct is not None
