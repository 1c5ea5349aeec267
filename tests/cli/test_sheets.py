"""bottling-day, cellar, sheet, label, plot --beside and what event says of bottles, as typed."""

import shutil
from datetime import datetime

import pytest

from bubblerate.page.running import told_while_running

from scenes import EXAMPLES

NIGHT = "2026-11-16T22:00+00:00"
AT = ("--at", NIGHT)


@pytest.fixture
def clock():
    return lambda: datetime.fromisoformat(NIGHT)


@pytest.fixture
def typed(run, tmp_path, monkeypatch):
    for name in ("medlar", "quince", "perry-pear"):
        shutil.copy(EXAMPLES / f"{name}.csv", tmp_path)
    monkeypatch.chdir(tmp_path)
    (tmp_path / "bubblerate.toml").write_text('[vessel.medlar]\nplace = "shed"\n')

    def typing(*words, code=0):
        said = run(*words, "--shelf", str(tmp_path))
        assert said.code == code, said.err
        return said

    return typing


def test_a_bottling_day_for_two_jars_is_told_and_drawn(typed, tmp_path):
    said = typed("bottling-day", "medlar", "quince", *AT, "-o", str(tmp_path / "day.pdf"))
    assert said.out.startswith("Bottling medlar and quince, 16 Nov 2026\n")
    assert "quince: wait" in said.out
    assert "! Not tonight: Rack it off its lees." in said.out
    assert (tmp_path / "day.pdf").read_bytes().startswith(b"%PDF")


def test_bottles_to_be_opened_come_before_a_bottling_day_for_the_rest(typed):
    part = ("--bottles", "3x75cl", "--litres", "2", "--when", NIGHT)
    typed("event", "medlar", "bottled", *part)
    typed("tally", "medlar", "40", "--over", "5m", "--when", "2026-11-20T22:00+00:00")
    said = typed("bottling-day", "medlar", "--at", "2026-11-20T22:10+00:00").out
    assert "! Not tonight: Stop. Put on goggles and gloves" in said


def test_a_jar_named_twice_is_a_slip(typed):
    assert "named twice" in typed("bottling-day", "medlar", "medlar", *AT, code=2).err


def test_the_cellar_is_empty_until_a_wine_is_bottled(typed):
    assert "been bottled yet" in typed("cellar", *AT).out
    done = typed("event", "medlar", "bottled", "--bottles", "5x75cl", "--closure", "cork",
                 "--when", NIGHT)  # fmt: skip
    assert "Lay them down on 21 Nov." in done.out
    assert "Squeeze the plastic bottle on 23 Nov, 30 Nov, 14 Dec, 11 Jan." in done.out
    assert "Drink from May 2027, best before Nov 2029 [common practice]." in done.out
    assert "5 of 5x75 cl" in typed("cellar", "--at", "2026-11-20").out
    opened = typed("event", "medlar", "opened", "--note", "tart", "--when", "2026-11-20 20:00")
    assert "  4 bottles left." in opened.out
    csv = typed("cellar", "--csv", "--at", "2026-11-21").out
    assert csv.splitlines()[1].startswith("medlar,,2026,shed,5x75,4,4x75,cork,2026-11-16,")


def test_a_sheet_for_a_jar_and_a_list_for_the_wall(typed, tmp_path):
    assert "This week" in typed("sheet", "quince", *AT).out
    said = typed("sheet", *AT, "-o", str(tmp_path / "wall.png"))
    assert said.out.startswith("All jars, 16 Nov 2026\n")
    assert (tmp_path / "wall.png").read_bytes().startswith(b"\x89PNG")


def test_a_page_of_labels_is_cut_at_its_frames(typed, tmp_path):
    path = tmp_path / "labels.pdf"
    words = ("--title", "Medlar, bank", "--bottle", "75cl", "--per-page", "8")
    said = typed("label", "medlar", *words, "-o", str(path), *AT)
    assert said.out.startswith("Medlar, bank\n2026\n")
    assert "75 cl" in said.out
    assert path.read_bytes().startswith(b"%PDF")
    assert "name the file" in typed("label", "medlar", "--per-page", "8", *AT, code=2).err
    many = ("label", "medlar", "--per-page", "99", "-o", str(path), *AT)
    assert "write 1 to 24" in typed(*many, code=2).err


def test_a_jar_is_laid_beside_another(typed, tmp_path):
    said = typed("plot", "quince", "--beside", "medlar", "--by", "year", *AT)
    assert said.out.splitlines()[0] == "quince beside medlar"
    assert (tmp_path / "quince.png").exists()
    four = [word for name in ("medlar",) * 4 for word in ("--beside", name)]
    assert "3 are the most" in typed("plot", "quince", *four, *AT, code=2).err


def test_the_sugar_of_the_recipe_tells_the_strength(typed):
    typed("start", "damson", "--litres", "4.5", "--sugar", "1kg", "--when", "2026-09-01")
    typed("gravity", "damson", "0.996", "--when", "2026-10-20 20:00")
    said = typed("after", "damson", "--all", "--at", "2026-10-21")
    assert "start worked out from the recipe's sugar" in " ".join(said.out.split())


def test_a_sheet_bears_the_code_of_the_page_while_it_runs(typed, tmp_path):
    pytest.importorskip("segno")
    drawn = ("sheet", "medlar", *AT, "-o", str(tmp_path / "medlar.pdf"))
    assert "The code" not in typed(*drawn).out
    with told_while_running(tmp_path, "http://192.168.1.20:8530"):
        assert "leads to http://192.168.1.20:8530/jar/medlar" in typed(*drawn).out
        assert "leads to http://192.168.1.20:8530/\n" in typed("sheet", *drawn[2:]).out
        assert "The code" not in typed(*drawn, "--no-link").out
        assert "leads to http://10.1.1.1/x" in typed(*drawn, "--link", "http://10.1.1.1/x").out
        assert "leave one out" in typed(*drawn, "--no-link", "--link", "x", code=2).err
    with told_while_running(tmp_path, "http://127.0.0.1:8530"):  # which no phone can reach
        assert "The code" not in typed(*drawn).out
