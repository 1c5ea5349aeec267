import random
import sqlite3
from datetime import UTC, date, datetime, timedelta, timezone

import numpy as np
import pandas as pd
import pytest

from bubblerate import Settings, judge, read, settings
from bubblerate.diary.folder import Unread, diaries
from bubblerate.diary.visit import Diary
from bubblerate.errors import DiaryError, InputError
from bubblerate.shelf import tables
from bubblerate.shelf.tables import read_table, vessels

from scenes import EXAMPLES

EVENING = datetime(2026, 10, 1, 21, tzinfo=UTC)
KNOWN = settings(EXAMPLES)


@pytest.fixture(scope="module")
def together():
    """The example diaries as one long table, their cells as text."""
    parts = []
    for path in sorted(EXAMPLES.glob("*.csv")):
        cells = pd.read_csv(path, dtype=str, keep_default_na=False)
        parts.append(cells.assign(vessel=path.stem))
    return pd.concat(parts, ignore_index=True).fillna("")


def contents(found):
    """What the sums see of diaries: all but the line on which a row stands."""
    return [
        (one.vessel, [(v.when, v.bubbles, v.seconds, v.temp_c, v.sg, v.event) for v in one.live])
        for one in found
    ]


@pytest.fixture(scope="module")
def as_diaries():
    return contents(diaries(EXAMPLES, KNOWN))


def test_one_long_csv_holds_what_the_diaries_hold(tmp_path, together, as_diaries):
    together.to_csv(tmp_path / "all.csv", index=False)
    assert contents(vessels(read_table(tmp_path / "all.csv"), settings=KNOWN)) == as_diaries


def test_jars_read_by_column_are_those_read_row_by_row(together, monkeypatch):
    odd = together.copy()
    odd.loc[odd["vessel"] == "sloe", "sg"] = "heavy"  # of one jar; the others are read all the same
    for table in (together, odd, together.sample(frac=1.0, random_state=1)):
        by_column = list(vessels(table, settings=KNOWN))
        with monkeypatch.context() as only:
            only.setattr(tables, "of_columns", lambda *_: None)
            assert list(vessels(table, settings=KNOWN)) == by_column
        assert sum(isinstance(one, Unread) for one in by_column) == (table is odd)


def typed(together):
    """The table with the types a database or Parquet would give it."""
    table = together.assign(when=pd.to_datetime(together["when"], utc=True))
    for name in ("bubbles", "seconds", "temp_c", "sg", "sample_c", "litres", "pressure_hpa"):
        table[name] = pd.to_numeric(table[name])
    return table


def test_a_parquet_file_holds_what_the_diaries_hold(tmp_path, together, as_diaries):
    typed(together).to_parquet(tmp_path / "all.parquet")
    table = read_table(tmp_path / "all.parquet")
    assert table["bubbles"].dtype == "float64"  # a count with gaps
    assert contents(vessels(table, settings=KNOWN)) == as_diaries


def test_a_query_gives_what_the_diaries_hold(together, as_diaries):
    with sqlite3.connect(":memory:") as base:
        typed(together).assign(when=together["when"]).to_sql("visits", base, index=False)
        table = pd.read_sql("select * from visits", base)
    base.close()
    assert contents(vessels(table, settings=KNOWN)) == as_diaries


def test_the_verdict_is_that_of_the_diary(together):
    quince = next(one for one in vessels(together, settings=KNOWN) if one.vessel == "quince")
    at = quince.visits[-1].when
    one, other = (judge(d, at=at, settings=KNOWN) for d in (quince, read(EXAMPLES / "quince.csv")))
    assert one.verdict == other.verdict
    assert one.forecast == other.forecast


def test_rows_may_lie_in_any_order(together, as_diaries):
    mixed = together.sample(frac=1.0, random_state=3)
    assert sorted(contents(vessels(mixed, settings=KNOWN))) == sorted(as_diaries)


def test_vessels_come_in_the_order_in_which_they_first_appear():
    table = pd.DataFrame({"vessel": ["b", "a", "b", "c"], "when": "2026-10-01", "bubbles": 1})
    assert [one.vessel for one in vessels(table)] == ["b", "a", "c"]


@pytest.mark.parametrize(
    ("cell", "meant"),
    [
        (EVENING, EVENING),
        (pd.Timestamp(EVENING), EVENING),
        (EVENING.astimezone(timezone(timedelta(hours=2))), EVENING),
        ("2026-10-01T21:00Z", EVENING),
        (datetime(2026, 10, 1, 21), datetime(2026, 10, 1, 21).astimezone()),
        (date(2026, 10, 1), datetime(2026, 10, 1).astimezone()),
    ],
)
def test_a_moment_may_have_any_type(cell, meant):
    table = pd.DataFrame({"vessel": ["fig"], "when": [cell], "bubbles": [3]}, dtype=object)
    (fig,) = vessels(table)
    assert fig.visits[0].when == meant


@pytest.mark.parametrize("blank", [None, np.nan, pd.NA, pd.NaT, "", " ", False])
def test_a_cell_without_anything_is_blank(blank):
    row = {"vessel": "fig", "when": EVENING, "bubbles": 3, "temp_c": blank, "struck": blank}
    (fig,) = vessels(pd.DataFrame([row], dtype=object))
    assert (fig.live[0].temp_c, fig.live[0].bubbles) == (None, 3)


def test_what_is_struck_takes_no_part():
    row = {"vessel": "fig", "when": EVENING, "bubbles": 3, "struck": True}
    (fig,) = vessels(pd.DataFrame([row]))
    assert (fig.live, fig.visits[0].bubbles) == ((), 3)


def test_days_are_counted_from_the_pitching_in_the_settings(tmp_path):
    (tmp_path / "bubblerate.toml").write_text("[vessel.fig]\npitched = 2026-10-01\n")
    table = pd.DataFrame({"vessel": ["fig", "fig"], "day": [0.5, 2], "bubbles": [9, 7]})
    (fig,) = vessels(table, settings=settings(tmp_path))
    began = datetime(2026, 10, 1).astimezone()
    assert [v.when for v in fig.visits] == [began + timedelta(days=d) for d in (0.5, 2)]


def test_a_bad_cell_costs_its_own_vessel_alone():
    table = pd.DataFrame(
        {"vessel": ["fig", "plum", "fig"], "when": "2026-10-01T21:00Z", "bubbles": [9, "many", 8]}
    )
    fig, plum = vessels(table, name="club.csv")
    assert len(fig.visits) == 2
    assert plum == Unread(
        vessel="plum",
        error='club.csv:3: bubbles is "many"; write a whole number up to 1000000, such as 12',
    )


@pytest.mark.parametrize("bubbles", [np.inf, -3.0, 2.5, 1e300])
def test_a_number_no_airlock_makes_is_named(bubbles):
    table = pd.DataFrame({"vessel": ["fig"], "when": [EVENING], "bubbles": [bubbles]})
    (fig,) = vessels(table)
    assert fig.error.startswith("table:2: bubbles is")


@pytest.mark.parametrize(
    ("columns", "words"),
    [
        ({"jar": ["fig"], "when": ["2026-10-01"]}, "it needs vessel, and when or day"),
        ({"vessel": ["fig"], "bubbles": [3]}, "it needs vessel, and when or day"),
        (
            {"vessel": ["fig"], "when": ["2026-10-01"], "When ": ["2026-10-01"]},
            "appears twice",
        ),
        ({"vessel": ["a"], "Vessel": ["b"], "when": ["2026-10-01"]}, "appears twice"),
        ({"vessel": ["fig", ""], "when": ["2026-10-01"] * 2}, "club.csv:3: vessel is empty"),
        ({"vessel": ["fig", None], "when": ["2026-10-01"] * 2}, "club.csv:3: vessel is empty"),
    ],
)
def test_a_table_of_another_kind_is_refused(columns, words):
    with pytest.raises(DiaryError, match=words):
        list(vessels(pd.DataFrame(columns), name="club.csv"))


@pytest.mark.parametrize("name", ["../../etc/fig", "C:\\fig", "fig/..", "no. 5", "Ünïcode"])
def test_a_vessel_of_a_table_may_be_called_anything(name):
    (one,) = vessels(pd.DataFrame({"vessel": [name], "when": ["2026-10-01"]}))
    assert one.vessel == name


@pytest.mark.parametrize(
    ("name", "data", "words"),
    [
        ("no.csv", None, "no such diary"),
        ("a.csv", b"", "cannot be read as a table"),
        ("a.csv", b"vessel,when\nfig,1\nfig,1,2,3\n", "cannot be read as a table"),
        ("a.csv", b"vessel,when\nfig,1,2,3\n", "a.csv:2: has more cells than the header"),
        ("a.csv", b"vessel,when\nfig,\xff\n", "cannot be read as a table"),
        ("a.parquet", b"PAR0", "cannot be read as a table"),
    ],
)
def test_a_file_that_is_no_table_is_one_line(tmp_path, name, data, words):
    if data is not None:
        (tmp_path / name).write_bytes(data)
    with pytest.raises(DiaryError, match=words) as refused:
        read_table(tmp_path / name)
    assert "\n" not in str(refused.value)


def test_without_the_library_parquet_says_what_to_install(tmp_path, monkeypatch):
    def missing(path):
        raise ImportError("no engine")

    (tmp_path / "a.parquet").write_bytes(b"PAR1")
    monkeypatch.setattr(pd, "read_parquet", missing)
    with pytest.raises(InputError, match=r"bubblerate\[parquet\]"):
        read_table(tmp_path / "a.parquet")


def test_a_table_without_rows_holds_no_vessel():
    assert not list(vessels(pd.DataFrame({"vessel": [], "when": []}), settings=Settings()))


FLIPPED = 400  # of which some dozen once raised errors of the libraries themselves


def test_parquet_with_bytes_gone_bad_is_a_table_or_one_line(tmp_path):
    pytest.importorskip("pyarrow")
    days = [f"2026-10-{day:02}" for day in range(1, 31)]
    table = pd.DataFrame({"vessel": ["fig", "plum"] * 15, "when": days, "bubbles": range(30)})
    path = tmp_path / "club.parquet"
    table.assign(note="x", at=pd.Timestamp("2026-10-01")).to_parquet(path)
    whole, rng, said = path.read_bytes(), random.Random(22), []
    named = [at for at in range(len(whole)) if whole[at : at + 3] in {b"202", b"nam", b"pan"}]
    for _ in range(FLIPPED):
        bad = bytearray(whole)
        bad[rng.choice((rng.choice(named), rng.randrange(len(bad))))] = rng.randrange(256)
        path.write_bytes(bad)
        try:
            list(vessels(read_table(path)))
        except DiaryError as err:
            said.append(str(err))
    assert [line for line in said if not line.isprintable()] == []
    assert FLIPPED / 20 < len(said) < FLIPPED


class Unreadable:
    """A cell whose library cannot give it."""

    def __str__(self):
        raise RuntimeError("bytes that are no text")


def test_a_cell_that_is_no_text_costs_its_vessel_and_no_other():
    jars = {"vessel": ["fig", "plum", "fig"], "when": ["2026-10-01"] * 3}
    found = list(vessels(pd.DataFrame({**jars, "bubbles": [9, 8, Unreadable()]}), name="club"))
    assert [type(one) for one in found] == [Unread, Diary]
    assert found[0].error == "club:4: a cell is not text; save the table again"
    arrays = [None, np.arange(3), None]
    found = list(vessels(pd.DataFrame({**jars, "note": arrays})))
    assert [one.vessel for one in found if isinstance(one, Unread)] == ["plum"]


def test_a_name_that_is_no_text_may_be_that_of_any_vessel():
    table = pd.DataFrame({"vessel": ["fig", Unreadable()], "when": ["2026-10-01"] * 2})
    with pytest.raises(DiaryError, match="club:3: vessel is not text"):
        list(vessels(table, name="club"))
