import time
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

import bubblerate
from bubblerate.cli import main
from bubblerate.diary.reading import read
from bubblerate.diary.tables.counter import log
from bubblerate.diary.tables.meanings import meanings
from bubblerate.errors import InputError

BEGUN = datetime(2026, 10, 1, 20, tzinfo=UTC)
DAYS = 22


@pytest.fixture(autouse=True)
def _greenwich(monkeypatch, tmp_path):
    monkeypatch.setenv("BUBBLERATE_SHELF", str(tmp_path / "shelf"))
    monkeypatch.setenv("TZ", "UTC")
    time.tzset()
    yield
    monkeypatch.undo()
    time.tzset()


def counted(step_s: float, *, days: float = DAYS, heads: str = "when,bubbles,seconds") -> bytes:
    """The log of a machine that counts all the time, of a jar that slows."""
    ends = np.arange(step_s, days * 86_400.0 + 1.0, step_s)
    per_min = 40.0 * np.exp(-ends / 86_400.0 / 5.0)
    counts = np.random.default_rng(4).poisson(per_min * step_s / 60.0)
    lines = (
        f"{(BEGUN + timedelta(seconds=float(s))).isoformat()},{n},{step_s:g}"
        for s, n in zip(ends, counts, strict=True)
    )
    return "\n".join([heads, *lines, ""]).encode()


def imported(*words: str) -> int:
    with pytest.raises(SystemExit) as left:
        main(["import", *words])
    return int(left.value.code or 0)


@pytest.fixture(scope="module")
def thick() -> bytes:
    return counted(30.0)


def test_a_log_is_pooled_and_no_bubble_is_lost(thick):
    found = log("a", thick, every_s=3600.0)
    assert (found.rows, found.step_s, found.unfinished) == (DAYS * 2880, 30.0, 0)
    assert len(found.visits) == DAYS * 24
    said = [int(line.split(b",")[1]) for line in thick.splitlines()[1:]]
    assert sum(v.bubbles for v in found.visits) == sum(said)
    assert {v.seconds for v in found.visits} == {3600.0}
    assert found.visits[0].when == BEGUN + timedelta(hours=1)


def test_the_verdict_is_the_same_at_any_row_length(thick, tmp_path):
    answers = []
    for every in ("1h", "3h"):
        path = tmp_path / f"{every}.csv"
        (tmp_path / "log.csv").write_bytes(thick)
        words = [str(tmp_path / "log.csv"), "--into", str(path), "--pool", every, "--yes"]
        assert imported(*words) == 0
        judged = bubblerate.judge(read(path), at=BEGUN + timedelta(days=DAYS))
        answers.append((judged.verdict.answer, judged.verdict.next.kind, judged.forecast))
    first = answers[0]
    for answer, kind, forecast in answers[1:]:
        assert (answer, kind) == first[:2]
        off = forecast.crossing.median - first[2].crossing.median
        assert abs(off) < timedelta(hours=12)
        assert forecast.per_min.median == pytest.approx(first[2].per_min.median, rel=0.05)


def test_a_log_that_grows_is_taken_over_again_without_a_row_twice(tmp_path, capsys):
    path, whole = tmp_path / "log.csv", counted(60.0, days=2.0)
    lines = whole.splitlines(keepends=True)
    for upto in (1000, 1500, len(lines), len(lines)):
        path.write_bytes(b"".join(lines[:upto]))
        assert imported(str(path), "--into", "fig", "--pool", "1h", "--yes") == 0
    assert "There is nothing to write" in capsys.readouterr().out
    rows = read(tmp_path / "shelf" / "fig.csv").visits
    once = log("a", whole, every_s=3600.0).visits
    assert [(v.when, v.bubbles) for v in rows] == [(v.when, v.bubbles) for v in once]


@pytest.mark.parametrize(
    ("text", "first"),
    [
        (
            "When,Bubbles\n2026-10-01 20:00:30,2\n2026-10-01 20:01:00,3\n2026-10-01 20:01:30,1\n"
            "2026-10-01 20:30,1\n",
            6 / 90,
        ),
        ("Timestamp;Bubbles per minute\n2026-10-01 20:00;6,0\n2026-10-01 20:10;6,0\n", 6 / 60),
        (
            "When\tBubbles in 10 s\n2026-10-01 20:00:10\t1\n2026-10-01 20:05:00\t2\n"
            "2026-10-01 20:30\t9\n",
            3 / 20,
        ),
        (
            "Date,Time,Bubbles,Minutes,Temp F\n2026-10-01,20:01,6,1,68\n2026-10-01,20:02,5,1,68\n",
            11 / 120,
        ),
    ],
)
def test_a_log_says_the_length_of_its_counts_in_any_way(text, first):
    rest = "2026-10-01,22:00,0,1,68" if "Temp" in text else ""
    found = log("a", f"{text}{rest}\n".encode(), every_s=600.0, meant=None)
    visit = found.visits[0]
    assert visit.bubbles / visit.seconds == pytest.approx(first)
    if "Temp" in text:
        assert found.visits[0].temp_c == 20.0


def test_a_machine_that_was_off_counted_nothing():
    text = "When,Bubbles\n" + "".join(
        f"2026-10-0{day} 20:{m:02},1\n" for day in (1, 2) for m in range(60)
    )
    found = log("a", text.encode(), every_s=86_400.0)
    assert found.visits[-1].seconds <= 3600.0  # not the day between


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("When,Bubbles\n2026-10-01 20:00,1\nsoon,2\n", 'a:3, column "When": cannot read "soon"'),
        ("When,Bubbles\n2026-10-01 20:00,-1\n", 'a:2, column "Bubbles": cannot read "-1"'),
        ("When,Bubbles\n2026-10-01 20:00,\n", 'column "Bubbles": cannot read ""'),
        ("When,SG\n2026-10-01 20:00,1.010\n", 'column "SG" does not belong in a sensor'),
        ("When,Temp C\n2026-10-01 20:00,18\n", "one column of times and one of counts"),
        ("When,Bubbles\n2026-10-01 20:00,1,2,3\n", "no even table"),
        ("When,Bubbles\n2026-10-01 20:00,1,2\n", "a:2: has more cells than there are headings"),
        ("", "is empty"),
        ("When,Bubbles\n2026-10-01 20:00,1\n2026-10-02 20:00,1\n", "further apart than"),
        (
            "When,Bubbles\n2026-10-01 20:30,900000\n2026-10-01 20:40,900000\n2026-10-01 22:00,1\n",
            "more than 1000000 bubbles in the spell to 1 Oct 2026 21:00",
        ),
    ],
)
def test_what_is_no_log_is_refused_with_its_place(text, why):
    with pytest.raises(InputError) as refused:
        log("a", text.encode(), every_s=3600.0)
    assert why in str(refused.value)
    assert "\n" not in str(refused.value)


def test_a_column_is_what_the_maker_says():
    text = b"stamp,Plopp\n2026-10-01T20:00:00Z,1\n2026-10-01T20:30:00Z,2\n2026-10-01T21:00:00Z,0\n"
    meant = meanings(["stamp=date", "Plopp=bubbles"])
    assert log("a", text, every_s=3600.0, meant=meant).visits[-1].bubbles == 2


def test_the_pressure_of_the_air_is_written_down(tmp_path, capsys):
    for words, code in (
        (["start", "fig"], 0),
        (["tally", "fig", "12", "--pressure", "1009,5 hPa"], 0),
        (["tally", "fig", "12", "--pressure", "29.9"], 2),
        (["tally", "fig", "12", "--pressure", "high"], 2),
    ):
        with pytest.raises(SystemExit) as left:
            main(words)
        assert (left.value.code or 0) == code
    assert "12 in 1 min = 12 a minute, 1009.5 hPa" in capsys.readouterr().out
    assert read(tmp_path / "shelf" / "fig.csv").visits[-1].pressure_hpa == 1009.5
