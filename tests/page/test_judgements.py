from datetime import timedelta

import pytest

from bubblerate.course import judgement as engine
from bubblerate.diary.folder import Unread
from bubblerate.diary.shelf import shelf_at
from bubblerate.page.judgements import Judgements
from bubblerate.show.pictures import tail

from phones import NOW, shelf_in


@pytest.fixture
def folder(tmp_path):
    return shelf_in(tmp_path)


@pytest.fixture
def judged(monkeypatch):
    """Names of the jars that are judged, in turn; what is found of them is their diary alone."""
    done = []

    def judge(diary, *, at, settings):
        done.append(diary.vessel)
        return diary

    monkeypatch.setattr(engine, "judge", judge)
    return done


def test_a_jar_is_judged_once_for_as_long_as_nothing_changes(folder, judged):
    known = Judgements()
    for minutes in range(0, 10, 3):
        known.all(shelf_at(folder), at=NOW + timedelta(minutes=minutes))
    assert judged == ["fig", "old plum"]


def test_a_new_row_has_its_jar_judged_anew_and_no_other(folder, judged):
    known = Judgements()
    known.all(shelf_at(folder), at=NOW)
    with (folder / "fig.csv").open("a") as file:
        file.write("2026-10-09T21:00:00+00:00,9,60,,,,,,,,\n")
    found, _ = known.all(shelf_at(folder), at=NOW)
    assert judged == ["fig", "old plum", "fig"]
    assert found.visits[-1].bubbles == 9


def test_new_settings_have_every_jar_judged_anew(folder, judged):
    known = Judgements()
    known.all(shelf_at(folder), at=NOW)
    (folder / "bubblerate.toml").write_text("[threshold]\nper_min = 2\n")
    known.all(shelf_at(folder), at=NOW)
    assert judged == ["fig", "old plum"] * 2


@pytest.mark.parametrize("later", [timedelta(minutes=10), timedelta(minutes=-1)])
def test_an_answer_is_never_old_nor_from_another_time(folder, judged, later):
    known = Judgements()
    known.of(shelf_at(folder), "fig", at=NOW)
    known.of(shelf_at(folder), "fig", at=NOW + later)
    assert judged == ["fig"] * 2


def test_an_answer_is_of_the_same_evening(folder, judged):
    known = Judgements()
    four = NOW.replace(hour=4)  # till then an evening lasts
    known.of(shelf_at(folder), "fig", at=four - timedelta(minutes=1))
    known.of(shelf_at(folder), "fig", at=four + timedelta(minutes=1))
    assert judged == ["fig"] * 2


def test_a_jar_that_is_gone_is_forgotten(folder, judged):
    known = Judgements()
    known.all(shelf_at(folder), at=NOW)
    (folder / "fig.csv").unlink()
    assert [one.vessel for one in known.all(shelf_at(folder), at=NOW)] == ["old plum"]
    assert isinstance(known.of(shelf_at(folder), "fig", at=NOW), Unread)


def test_a_fault_of_ours_in_one_jar_costs_no_other(folder, monkeypatch, capsys):
    def broken(diary, *, at, settings):
        if diary.vessel == "fig":
            raise ZeroDivisionError("\x1b[2J by zero")
        return diary

    monkeypatch.setattr(engine, "judge", broken)
    fig, plum = Judgements().all(shelf_at(folder), at=NOW)
    assert fig.error == "fig: ZeroDivisionError: ?[2J by zero"
    assert plum.vessel == "old plum"
    assert capsys.readouterr().err == f"bubblerate: {fig.error}\n"


def test_a_picture_is_drawn_once(folder, judged, monkeypatch):
    drawn = []

    def draw(found, form, **options):
        drawn.append(found.vessel)
        return b"<svg/>"

    monkeypatch.setattr(tail, "tail_picture", draw)
    known = Judgements()
    pictures = {known.picture(shelf_at(folder), "fig", at=NOW) for _ in range(3)}
    assert (pictures, drawn) == ({b"<svg/>"}, ["fig"])
    (folder / "fig.csv").write_text("when\n")
    known.picture(shelf_at(folder), "fig", at=NOW)
    assert drawn == ["fig"] * 2
