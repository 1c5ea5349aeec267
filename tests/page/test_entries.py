import threading
from datetime import timedelta

import pytest

from bubblerate.diary.reading import read
from bubblerate.diary.shelf import shelf_at
from bubblerate.errors import BubbleRateError
from bubblerate.page.entries import Entries, row_mark
from bubblerate.page.forms import Form

from phones import COUNTS, NOW, shelf_in
from scenes import EXAMPLES

ROWS = len(COUNTS) + 1  # of a jar before anything is entered


def form(what="tally", jar="fig", key="0123456789abcdef", **fields):
    return Form(jar=jar, what=what, fields={"key": key} | fields)


@pytest.fixture
def folder(tmp_path):
    return shelf_in(tmp_path)


def take(folder, entries, some, *, now=NOW):
    return entries.take(some, shelf_at(folder), now=now)


def rows(folder, jar="fig"):
    return read(folder / f"{jar}.csv").visits


def test_an_entry_is_written_and_said_back_with_its_doubts(folder):
    said = take(folder, Entries(folder), form(count="700 in 60s"))
    assert said.text == "fig: 700 in 1 min = 700 a minute, on 20 Oct 2026 21:00. Line 5."
    assert said.beside == (
        "Is that right? That is ten or more times the last count that had bubbles (34 a minute).",
    )
    assert (said.line, rows(folder)[-1].line) == (5, 5)


def test_the_same_form_twice_is_one_row_and_the_same_answer(folder):
    entries = Entries(folder)
    first = take(folder, entries, form(count="12"))
    assert take(folder, entries, form(count="12"), now=NOW + timedelta(hours=1)) == first
    assert len(rows(folder)) == ROWS + 1


def test_the_same_form_after_a_restart_is_still_one_row(folder):
    first = take(folder, Entries(folder), form(count="12 in 90.3s", temp="65F", note="=1+1"))
    again = take(
        folder,
        Entries(folder),
        form(count="12 in 90.3s", temp="65F", note="=1+1"),
        now=NOW + timedelta(days=1),
    )
    assert (again.text, again.line, again.row) == (first.text, first.line, first.row)
    assert len(rows(folder)) == ROWS + 1


def test_an_entry_cut_short_before_its_row_is_written_when_it_comes_again(folder, monkeypatch):
    def cut(*args, **options):
        raise KeyboardInterrupt

    with monkeypatch.context() as patched:
        patched.setattr("bubblerate.diary.shelf.Shelf.write", cut)
        with pytest.raises(KeyboardInterrupt):
            take(folder, Entries(folder), form(count="12"))
    assert len(rows(folder)) == ROWS
    take(folder, Entries(folder), form(count="12"), now=NOW + timedelta(hours=2))
    assert rows(folder)[-1].when == NOW  # when it was made, not when it came through


def test_a_row_that_was_struck_is_not_written_again(folder):
    said = take(folder, Entries(folder), form(count="12"))
    take(folder, Entries(folder), form("strike", key="f" * 16, line=str(said.line), row=said.row))
    take(folder, Entries(folder), form(count="12"))
    assert [bool(v.struck) for v in rows(folder)[ROWS:]] == [True]


def test_another_entry_of_the_same_page_is_another_row(folder):
    entries = Entries(folder)
    take(folder, entries, form(count="12"))
    take(folder, entries, form(count="13"))
    take(folder, entries, form(count="12", key="f" * 16))
    assert [v.bubbles for v in rows(folder)[ROWS:]] == [12, 13, 12]


def test_a_diary_of_day_numbers_knows_its_rows_too(folder):
    (folder / "days.csv").write_text("day,bubbles,seconds\n1.5,30,60\n2.5,28,60\n")
    (folder / "bubblerate.toml").write_text("[vessel.days]\npitched = 2026-10-01\n")
    for _ in range(2):
        take(folder, Entries(folder), form(jar="days", count="12"))
    assert (folder / "days.csv").read_text().count("\n") == 4


def test_a_diary_with_a_fault_takes_entries_all_the_same_and_each_once(folder):
    with (folder / "fig.csv").open("a") as file:
        file.write("yesterday,1,60,,,,,,,,\n")
    entries = Entries(folder)
    said = [take(folder, entries, form(count="12")) for _ in range(2)]
    assert "there is something to fix" in said[0].beside[0]
    assert said[0] == said[1]
    assert (folder / "fig.csv").read_text().count(",12,60,") == 1
    with pytest.raises(BubbleRateError, match=r"fig\.csv:5"):  # cannot be told whether it is there
        take(folder, Entries(folder), form(count="12"))


@pytest.mark.parametrize("fields", [{"count": "twelve"}, {"count": "12", "when": "soon"}])
def test_what_is_refused_leaves_no_trace(folder, fields):
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    with pytest.raises(BubbleRateError):
        take(folder, Entries(folder), form(**fields))
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == before


def test_forms_that_come_at_the_same_moment_are_one_row(folder):
    entries, said = Entries(folder), []
    crowd = [
        threading.Thread(target=lambda: said.append(take(folder, entries, form(count="12"))))
        for _ in range(8)
    ]
    for one in crowd:
        one.start()
    for one in crowd:
        one.join()
    assert len({one.line for one in said}) == 1
    assert len(said) == 8
    assert len(rows(folder)) == ROWS + 1


# --- taking back ---------------------------------------------------------------------------------


def strike(said, key="f" * 16, **other):
    return form("strike", key=key, **{"line": str(said.line), "row": said.row} | other)


def test_an_entry_is_taken_back_once(folder):
    entries = Entries(folder)
    said = take(folder, entries, form(count="12"))
    struck = take(folder, entries, strike(said))
    assert struck.text == "fig: struck line 5: 12 in 1 min = 12 a minute, on 20 Oct 2026 21:00."
    assert struck.line is None  # nothing to take back
    assert take(folder, entries, strike(said)) == struck
    assert take(folder, Entries(folder), strike(said)).text == struck.text  # after a restart
    assert bool(rows(folder)[-1].struck)


@pytest.mark.parametrize(
    "other", [{"line": "4"}, {"line": "99"}, {"line": "x"}, {"row": "0" * 16}, {"row": ""}]
)
def test_another_row_than_the_one_shown_is_never_struck(folder, other):
    said = take(folder, Entries(folder), form(count="12"))
    with pytest.raises(BubbleRateError, match="has changed since"):
        take(folder, Entries(folder), strike(said, **other))
    assert not any(v.struck for v in rows(folder))


def test_a_row_is_known_from_its_neighbours():
    rows = read(EXAMPLES / "medlar.csv").visits
    assert len({row_mark(visit) for visit in rows}) == len(rows)
