from datetime import date

from bubblerate.diary.settings import VesselSettings
from bubblerate.show.about_text import about_text, changed_text


def test_all_that_may_be_said_is_shown_within_fifty_columns(tmp_path, monkeypatch):
    monkeypatch.setenv("BUBBLERATE_SHELF", str(tmp_path))
    said = VesselSettings(
        style="\x1b[31mperry", ph=3.4, drink_from_months=6, clear_since=date(2026, 11, 1)
    )
    text = about_text(tmp_path / "fig.csv", said)
    assert "?[31mperry" in text
    assert "6 months in bottle" in text
    assert max(map(len, text.splitlines())) <= 50
    assert text.count("not set") == 5
    monkeypatch.delenv("BUBBLERATE_SHELF")
    line = about_text(tmp_path / "fig.csv", said).splitlines()[-1]
    assert line.endswith(f"event fig clear --when 2026-11-01 --shelf {tmp_path}")


def test_a_change_names_what_stood_there_before():
    before, now = VesselSettings(finish=0.996), VesselSettings(finish=1.002, ph=3.4)
    assert changed_text("fig", before, now, ["finish", "ph"]) == (
        "fig: finish 1.002 (was 0.996), pH 3.4. Saved in bubblerate.toml."
    )
