"""Split, join and top up: both diaries in one act, each naming the other."""

import pytest

from bubblerate.diary.events import Event
from bubblerate.diary.folder import copies
from bubblerate.diary.mingling import join, split, top_up
from bubblerate.diary.reading import read
from bubblerate.diary.settings_file import settings
from bubblerate.diary.shelf import shelf_at
from bubblerate.diary.visit import bottled
from bubblerate.errors import DiaryError, InputError

from scenes import evening, written

PLUM = (
    {"day": 0, "event": "pitched", "sg": 1.084, "litres": 9.0, "note": "Victoria"},
    {"day": 2, "bubbles": 20, "temp_c": 19},
    {"day": 3, "bubbles": 90, "struck": "2026-10-05"},
    {"day": 9, "sg": 1.030},
)
SPARE = ({"day": 0, "event": "pitched", "litres": 0.7},)


@pytest.fixture
def shelf(tmp_path):
    written(tmp_path / "plum.csv", *PLUM)
    written(tmp_path / "spare.csv", *SPARE)
    return shelf_at(tmp_path)


def rows(shelf, name):
    return read(shelf.path(name)).visits


def last(shelf, name):
    row = rows(shelf, name)[-1]
    return row.event, row.litres, row.added_l, row.other


def test_a_split_parts_the_litres_and_names_the_other_jar_in_both(shelf):
    split(shelf, "plum", into="plum-2", litres=4.5, at=evening(10))
    assert last(shelf, "plum") == ("split", 4.5, None, "plum-2")
    assert last(shelf, "plum-2") == ("split", 4.5, None, "plum")


def test_the_history_goes_along_but_for_slips(shelf):
    before = shelf.path("plum").read_bytes()
    split(shelf, "plum", into="plum-2", litres=4.5, at=evening(10))
    told = [(v.when, v.bubbles, v.sg, v.note) for v in rows(shelf, "plum-2")[:-1]]
    assert told == [(v.when, v.bubbles, v.sg, v.note) for v in read(shelf.path("plum")).live[:-1]]
    assert [*map(len, (rows(shelf, "plum"), rows(shelf, "plum-2")))] == [5, 4]
    kept = shelf.path("plum").read_bytes().splitlines()
    assert [*(line.rstrip(b",") for line in kept[1:5])] == [
        line.rstrip(b",") for line in before.splitlines()[1:]
    ]


def test_bottles_stay_with_the_jar_they_were_filled_from(shelf):
    filled = {"event": "bottled", "bottles": "3x75", "closure": "cork", "litres": 6.0, "sg": 0.996}
    written(shelf.path("plum"), *PLUM, {"day": 90, **filled}, {"day": 95, "event": "opened"})
    split(shelf, "plum", into="plum-2", litres=3.0, at=evening(100))
    assert bottled(rows(shelf, "plum"))
    assert not bottled(rows(shelf, "plum-2"))
    assert Event.OPENED not in [row.event for row in rows(shelf, "plum-2")]
    assert [(v.sg, v.litres) for v in rows(shelf, "plum-2")[-2:]] == [(0.996, 6.0), (None, 3.0)]


def test_a_jar_that_was_split_off_is_no_copy(shelf):
    split(shelf, "plum", into="plum-2", litres=4.5, at=evening(10))
    assert copies(shelf.folder) == {}


def test_what_is_said_of_the_jar_is_said_of_the_new_one_but_its_litres(shelf):
    path = shelf.folder / "bubblerate.toml"
    path.write_text('# mine\n[vessel.plum]\nstyle = "plum wine"  # dark\nlitres = 9\nph = 3.4\n')
    assert split(shelf_at(shelf.folder), "plum", into="plum-2", litres=4.5, at=evening(10)).settings
    known = settings(shelf.folder).vessel("plum-2")
    assert (known.style, known.ph, known.litres) == ("plum wine", 3.4, None)
    assert path.read_text().startswith('# mine\n[vessel.plum]\nstyle = "plum wine"  # dark\n')


@pytest.mark.parametrize(
    ("name", "into", "litres", "why"),
    [
        ("plum", "plum-2", 9.5, "plum holds 9 litres; 9.5 is more"),
        ("plum", "spare", 4.5, "there is already a diary spare"),
        ("plum", "a/b", 4.5, "a jar's name"),
        ("plom", "plum-2", 4.5, "did you mean plum"),
    ],
)
def test_a_split_that_cannot_be_is_refused_and_nothing_is_written(shelf, name, into, litres, why):
    before = {path.name: path.read_bytes() for path in shelf.folder.iterdir()}
    with pytest.raises((InputError, DiaryError), match=why):
        split(shelf, name, into=into, litres=litres, at=evening(10))
    assert {path.name: path.read_bytes() for path in shelf.folder.iterdir()} == before


def test_all_of_a_jar_may_go_over(shelf):
    split(shelf, "plum", into="plum-2", litres=9.0, at=evening(10))
    assert last(shelf, "plum") == ("split", 0.0, None, "plum-2")
    with pytest.raises(InputError, match="plum has been empty since"):
        split(shelf, "plum", into="plum-3", litres=1.0, at=evening(11))


def test_a_join_into_a_new_jar_takes_up_one_history_and_names_both(shelf):
    split(shelf, "plum", into="plum-2", litres=4.5, at=evening(10))
    join(shelf, "plum", "plum-2", into="big", at=evening(20), notes=("by volume", ""))
    joined = rows(shelf, "big")
    assert [(v.other, v.litres, v.added_l, v.note) for v in joined[-2:]] == [
        ("plum", 4.5, None, ""),
        ("plum-2", 9.0, 4.5, "by volume"),
    ]
    assert joined[0].note == "Victoria"
    assert last(shelf, "plum") == ("joined", 0.0, None, "big")
    assert last(shelf, "plum-2") == ("joined", 0.0, None, "big")


def test_a_join_into_one_of_the_two_empties_the_other(shelf):
    split(shelf, "plum", into="plum-2", litres=4.5, at=evening(10))
    join(shelf, "plum", "plum-2", into="plum", at=evening(20), litres=8.9)
    assert last(shelf, "plum") == ("joined", 8.9, 4.5, "plum-2")
    assert last(shelf, "plum-2") == ("joined", 0.0, None, "plum")


# 9 L and 0.3 L are 9.3 L; 0.7 L less 0.3 L are 0.4 L: by hand.
@pytest.mark.parametrize(("working", "event"), [(False, Event.TOPPED_UP), (True, Event.FED)])
def test_topping_up_moves_the_litres_and_says_what_it_was(shelf, working, event):
    at = evening(12)
    top_up(shelf, "plum", spare="spare", litres=0.3, working=working, at=at, note="")
    assert last(shelf, "plum") == (event, 9.3, 0.3, "spare")
    assert last(shelf, "spare") == (None, 0.4, None, "plum")


def test_a_spare_that_is_used_up_is_empty(shelf):
    top_up(shelf, "plum", spare="spare", litres=0.7, working=False, at=evening(12), note="")
    assert last(shelf, "spare") == ("split", 0.0, None, "plum")


def test_one_diary_that_cannot_be_written_leaves_the_other_as_it_was(shelf):
    before = shelf.path("plum").read_bytes()
    shelf.path("spare").write_bytes(b"when\r\n2026-10-01\r\n")  # no column for a note
    with pytest.raises(DiaryError, match="spare"):
        top_up(shelf, "plum", spare="spare", litres=0.3, working=False, at=evening(12), note="")
    assert shelf.path("plum").read_bytes() == before


def test_diaries_in_two_folders_are_refused(shelf, tmp_path):
    written(tmp_path / "other" / "fig.csv", *SPARE)
    path = str(tmp_path / "other" / "fig.csv")
    with pytest.raises(InputError, match="two folders"):
        top_up(shelf, "plum", spare=path, litres=0.1, working=False, at=evening(12), note="")
