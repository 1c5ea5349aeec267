import pytest

from bubblerate.course.judgement import judge
from bubblerate.diary.folder import Unread
from bubblerate.diary.settings import Settings
from bubblerate.diary.shelf import shelf_at
from bubblerate.page.views import jar_view, shelf_view

from phones import NOW, shelf_in

FAULT = Unread(vessel="plum", error="plum.csv:3: no such day")


@pytest.fixture(scope="module")
def fig(tmp_path_factory):
    shelf = shelf_at(shelf_in(tmp_path_factory.mktemp("shelf"), "fig"))
    return judge(shelf.open("fig").diary, at=NOW, settings=Settings())


def test_a_shelf_lists_what_can_be_read_before_what_cannot(fig):
    fine, faulty = shelf_view([FAULT, fig], at=NOW).lines
    assert (fine.jar, fine.stands) == ("fig", "fermenting. Rack it? WAIT")
    assert (fine.words.do, fine.words.day, fine.fault) == ("count", "today", "")
    assert (faulty.jar, faulty.words, faulty.fault) == ("plum", None, FAULT.error)


def test_a_jar_shows_its_last_rows_newest_first(fig):
    view = jar_view("fig", fig, settings=Settings())
    assert [row.line for row in view.rows] == [4, 3, 2]
    assert view.rows[0].text.startswith("34 in 1 min = 34 a minute")
    assert (view.offer.form, view.last[:10]) == ("count", "34 in 1 mi")
    assert view.told[0][0] == "WAIT"
    assert "next" not in dict(view.later)  # it stands above


def test_a_jar_that_cannot_be_read_shows_why_and_offers_a_count():
    view = jar_view("plum", FAULT, settings=Settings())
    assert (view.fault, view.told, view.rows, view.offer.form) == (FAULT.error, (), (), "count")
    assert view.last == FAULT.error


def test_a_fault_of_ours_in_what_follows_costs_no_verdict(fig, monkeypatch, capsys):
    def broken(found, *, settings):
        raise ZeroDivisionError("by zero")

    monkeypatch.setattr("bubblerate.page.views.figures", broken)
    view = jar_view("fig", fig, settings=Settings())
    assert view.told[0][0] == "WAIT"
    assert view.later == (("fault", "fig: ZeroDivisionError: by zero"),)
    assert "ZeroDivisionError" in capsys.readouterr().err
