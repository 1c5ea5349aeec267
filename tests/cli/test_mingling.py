"""split, join and top-up, as a person types them."""

import json

import pytest

from bubblerate.diary.reading import read


class Typing:
    """Types commands for one shelf, and those that write as of an evening of 2026."""

    def __init__(self, run, shelf):
        self.run, self.shelf = run, shelf

    def __call__(self, *words, code=0):
        said = self.run(*words, "--shelf", str(self.shelf))
        assert said.code == code, said.err
        return said

    def at(self, day, *words, code=0):
        return self(*words, "--when", f"2026-{day} 20:00", code=code)


@pytest.fixture
def typed(run, tmp_path):
    typing = Typing(run, tmp_path)
    typing.at("09-01", "start", "plum", "--litres", "9", "--sg", "1084")
    for n, day in enumerate(("09-02", "09-03", "09-05")):
        typing.at(day, "tally", "plum", str(60 - 10 * n), "--over", "2m", "--temp", "19")
    return typing


def course(typed, name, day):
    said = json.loads(typed("after", name, "--json", "--at", f"2026-{day} 21:00").out)
    return said["phase"], said["next"], said["steps"]


def test_after_a_split_both_jars_have_the_same_course(typed):
    said = typed.at("09-06", "split", "plum", "--into", "plum-2", "--litres", "4.5")
    assert "plum-2 has a copy of the rows of plum" in said.out
    assert said.err == ""  # a jar that was split off is no copy
    assert course(typed, "plum", "09-06") == course(typed, "plum-2", "09-06")


def test_joined_wines_follow_the_less_far_and_prove_themselves_anew(typed, tmp_path):
    typed.at("09-06", "split", "plum", "--into", "plum-2", "--litres", "4.5")
    typed.at("10-06", "gravity", "plum", "0.995")
    typed.at("10-06", "gravity", "plum-2", "1.001")
    refused = typed.at("10-07", "join", "plum", "plum-2", "--into", "plum", code=2)
    assert "plum is further on than plum-2" in refused.err
    said = typed.at("10-07", "join", "plum", "plum-2", "--into", "big")
    assert "big: joined, 9 litres" in said.out
    row = read(tmp_path / "big.csv").visits[-1]
    assert row.sg is None  # a sum is no reading
    assert row.note.startswith("worked out by volume: gravity 0.998, ")
    assert course(typed, "plum", "10-08")[0] == course(typed, "plum-2", "10-08")[0] == "empty"
    assert course(typed, "big", "10-08")[0] == "fermenting"


def test_topping_up_from_a_spare_never_read_says_so(typed):
    typed.at("09-01", "start", "spare", "--litres", "0.7")
    said = typed.at("10-07", "top-up", "plum", "--from", "spare", "--litres", "300ml")
    assert "spare was never read, so it counts as finished wine" in said.out
    assert "plum: topped-up, 9.3 litres, 0.3 L added, other jar spare" in said.out


def test_topping_up_from_a_working_jar_feeds(typed, tmp_path):
    typed.at("09-01", "start", "damson", "--litres", "4.5", "--sg", "1080")
    typed.at("09-05", "tally", "damson", "60", "--over", "2m")
    said = typed.at("09-06", "top-up", "plum", "--from", "damson", "--litres", "0.3")
    assert "damson is still fermenting: it feeds plum" in said.out
    assert read(tmp_path / "plum.csv").visits[-1].event == "fed"


@pytest.mark.parametrize(
    ("words", "why"),
    [
        (["split", "plum", "--into", "plum-2", "--litres", "10"], "plum holds 9 litres"),
        (["split", "plum", "--into", "plum", "--litres", "4"], "there is already a diary plum"),
        (["top-up", "plum", "--from", "plum", "--litres", "1"], "cannot be topped up from itself"),
        (["top-up", "plum", "--from", "spar", "--litres", "1"], "no diary spar.csv"),
        (["join", "plum", "plum", "--into", "big"], "plum is one jar"),
    ],
)
def test_a_slip_of_the_pen_is_one_line(typed, tmp_path, words, why):
    before = (tmp_path / "plum.csv").read_bytes()
    said = typed.at("09-06", *words, code=2)
    assert why in said.err
    assert said.err.count("\n") == 1
    assert (tmp_path / "plum.csv").read_bytes() == before
