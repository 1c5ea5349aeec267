import io
import sys

import pytest

from bubblerate.cli.shelf import progress


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


@pytest.mark.parametrize("total", [None, 3, 19, 20, 500])
def test_what_is_done_is_handed_on_and_nothing_is_shown_when_piped(capsys, total):
    assert list(progress(range(500), total=total, label="replaying")) == [*range(500)]
    assert capsys.readouterr() == ("", "")


@pytest.mark.parametrize(("total", "shown"), [(19, False), (20, True), (None, True)])
def test_a_person_is_shown_a_bar_where_there_is_enough_to_do(monkeypatch, total, shown):
    screen = Terminal()
    monkeypatch.setattr(sys, "stderr", screen)
    monkeypatch.setenv("TERM", "xterm")
    assert list(progress(range(20), total=total, label="replaying")) == [*range(20)]
    assert ("replaying" in screen.getvalue()) is shown
    assert ("20/20" in screen.getvalue()) is (shown and total is not None)


def test_items_are_taken_one_by_one():
    taken = []
    items = (taken.append(i) or i for i in range(100))
    first = next(progress(items, total=100, label="replaying"))
    assert (first, taken) == (0, [0])


def test_a_fault_of_ours_in_one_vessel_is_a_line_and_costs_no_other(run, jars, monkeypatch):
    from bubblerate.course.judgement import judge
    from bubblerate.shelf import overview

    def broken(diary, **options):
        if diary.vessel == "quince":
            raise ZeroDivisionError("\x1b[2J by zero")
        return judge(diary, **options)

    monkeypatch.setattr(overview, "judge", broken)
    said = run("shelf", "--json", "--shelf", str(jars))
    assert said.code == 0
    assert "quince: ZeroDivisionError: ?[2J by zero" in said.err
    assert '"vessel": "medlar"' in said.out
