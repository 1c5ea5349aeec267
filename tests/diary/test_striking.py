"""A row that was struck counts again, and the diary is byte for byte what it was."""

import pytest

from bubblerate.diary.reading import read
from bubblerate.diary.striking import strike, take_back
from bubblerate.errors import DiaryError

from scenes import evening, written

NOW = evening(9)


@pytest.fixture
def fig(tmp_path):
    rows = [{"day": day, "bubbles": 9 - day, "note": "ab"} for day in range(4)]
    return written(tmp_path / "fig.csv", *rows)


@pytest.mark.parametrize("line", [2, 4])
@pytest.mark.parametrize("end", [b"\n", b"\r\n"])
def test_what_was_struck_and_taken_back_is_as_it_was(fig, line, end):
    before = fig.read_bytes().replace(b"\n", end).replace(b"ab", b'"a, b"')
    fig.write_bytes(before)
    assert strike(fig, line, at=NOW).struck
    assert len(read(fig).live) == 3
    assert take_back(fig, line, at=NOW).struck == ""
    assert fig.read_bytes() == before


def test_a_row_that_is_not_struck_or_not_there_is_refused(fig):
    before = fig.read_bytes()
    for line, message in ((3, "is not struck"), (99, "no row starts on this line")):
        with pytest.raises(DiaryError, match=message):
            take_back(fig, line, at=NOW)
    assert fig.read_bytes() == before


def test_a_row_that_no_diary_can_hold_stays_struck(fig):
    strike(fig, 3, at=NOW)
    before = fig.read_bytes().replace(b",8,", b",eight,")
    fig.write_bytes(before)
    with pytest.raises(DiaryError, match=r"fig\.csv:3: bubbles is"):
        take_back(fig, 3, at=NOW)
    assert fig.read_bytes() == before
