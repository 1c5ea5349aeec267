"""What people already have: workbooks, several jars in one table, headings in their own words."""

import io
import random
import sys
import time
import zipfile
from collections.abc import Iterator, Sequence
from datetime import UTC, date, datetime

import pytest

from bubblerate.cli import main
from bubblerate.diary.dates import readings
from bubblerate.diary.reading import read
from bubblerate.diary.tables import dates, tongues
from bubblerate.diary.tables.headings import columns
from bubblerate.diary.tables.meanings import meanings
from bubblerate.diary.tables.sheet import sheet
from bubblerate.diary.tables.visits import days, entries
from bubblerate.errors import FaultsError, InputError
from bubblerate.text import MONTHS

from .workbooks import ods, xls, xlsx

NOW = datetime(2026, 11, 25, 21, 45, tzinfo=UTC)
EVENING = datetime(2026, 10, 12, 21, 30)
ROWS = [
    ["Fig, 4.5 litres", None, None, None],
    [None, None, None, None],
    ["Date", "Bubbles/min", "SG", "Note"],
    [EVENING, 14.0, 1.012, "clear & still"],
    [datetime(2026, 10, 13), 11.0, 0.1 + 0.2 + 0.7, "öld"],
    [datetime(2026, 10, 14, 20, 5), None, None, "=SUM(A1)"],
]
SAID = [
    "12Oct 21:30 14/60 1.012 clear & still",
    "13Oct 21:00 11/60 1.0 öld",
    "14Oct 20:05 =SUM(A1)",
]


@pytest.fixture(autouse=True)
def _greenwich(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    monkeypatch.setenv("TZ", "UTC")
    time.tzset()
    yield
    monkeypatch.undo()
    time.tzset()


def rows(data: str | bytes, *, jar: str = "", said: Sequence[str] = ()) -> list[str]:
    """Rows of a table as short texts: moment, count, C, SG, event, note."""
    raw = data if isinstance(data, bytes) else data.encode()
    table = sheet("jar", raw, jar=jar, meant=meanings(said))
    written = days(table, pitched=None)
    order = next(iter(dates.orders(written).possible), None)
    found = entries(table, dates.moments(written, order=order, year=2026, now=NOW))
    shown = []
    for v in found.visits:
        tally = "" if v.bubbles is None else f"{v.bubbles}/{v.seconds:g}"
        parts = (f"{v.when:%d%b %H:%M}", tally, v.temp_c, v.sg, v.event, v.note)
        shown.append(" ".join(str(part) for part in parts if part not in {None, ""}))
    return shown


def refusal(data: str | bytes, **options) -> str:
    with pytest.raises(InputError) as caught:
        rows(data, **options)
    return str(caught.value)


# --- spreadsheets' own files ---------------------------------------------------------------------


@pytest.mark.parametrize(
    "data", [xlsx({"Jar": ROWS}), ods({"Jar": ROWS}), xls("Jar", ROWS)], ids=["xlsx", "ods", "xls"]
)
def test_a_workbook_says_what_its_text_would(data):
    assert rows(data) == SAID
    assert rows(data, jar="jar") == SAID
    assert sheet("a", data).head.first == 3


def test_the_worksheet_with_a_table_is_found_and_of_several_the_one_that_is_named():
    other = [["Date", "SG"], [EVENING, 1.05]]
    shopping = [["sugar", 2.0], ["yeast", 1.0]]
    assert rows(xlsx({"Shopping": shopping, "Fig": ROWS})) == SAID
    both = xlsx({"Plum": other, "Fig": ROWS})
    assert rows(both, jar="fig") == SAID
    assert rows(both, jar="Plum") == ["12Oct 21:30 1.05"]
    assert refusal(both) == (
        'jar has tables in several worksheets ("Plum, Fig"); choose one with --jar NAME'
    )
    assert "found no headings for a date" in refusal(xlsx({"Shopping": shopping}))


def test_a_fault_in_a_workbook_is_named_by_its_row():
    bad = [*ROWS[:4], [EVENING, "lots", 1.0, None]]
    assert refusal(xlsx({"Jar": bad})).startswith('jar:5, column "Bubbles/min": cannot read "lots"')


def test_a_workbook_that_would_fill_the_memory_or_is_none_is_refused():
    vast = xlsx({"Jar": ROWS}, at="XFD1048576")
    assert refusal(vast).startswith("jar has a cell far from its table (column 16384, row 1048576)")
    far = xls("Jar", [*ROWS, *[[]] * 60_000, [None] * 255 + [1.0]])
    assert refusal(far).startswith("jar has a cell far from its table (column 256, row 60007)")
    for data in (xlsx({"Jar": ROWS})[:-200], ods({"Jar": ROWS})[:300], xls("Jar", ROWS)[:600]):
        assert refusal(data) == (
            "jar is not a spreadsheet that can be read; open it and save it as xlsx or CSV"
        )


@pytest.mark.parametrize("data", [xlsx({"Jar": ROWS}), ods({"Jar": ROWS})], ids=["xlsx", "ods"])
def test_a_workbook_whose_text_breaks_off_is_refused_and_not_waited_for(data):
    torn = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as whole, zipfile.ZipFile(torn, "w") as packed:
        for name in whole.namelist():
            text = whole.read(name)
            broken = name == "content.xml" or "sheet1" in name
            packed.writestr(name, text[: text.index(b"Bubbles") + 7] if broken else text)
    assert "is not a spreadsheet that can be read" in refusal(torn.getvalue())


@pytest.mark.parametrize(
    "data", [xlsx({"Jar": ROWS}), ods({"Jar": ROWS}), xls("Jar", ROWS)], ids=["xlsx", "ods", "xls"]
)
def test_a_torn_workbook_is_read_or_refused_in_one_line(data):
    rng, told = random.Random(1), set()
    for _ in range(150):
        torn = bytearray(data)
        for _ in range(rng.randint(1, 6)):
            torn[rng.randrange(4, len(torn))] = rng.randrange(256)
        try:
            days(sheet("jar", bytes(torn)), pitched=None)
        except InputError as err:
            told.add(str(err))
    assert told
    assert all(line.startswith("jar") and line.isprintable() for line in told)


def test_without_the_library_one_line_says_what_to_install(monkeypatch, tmp_path, capsys):
    monkeypatch.setitem(sys.modules, "python_calamine", None)
    monkeypatch.setenv("BUBBLERATE_SHELF", str(tmp_path))
    table = tmp_path / "a.xlsx"
    table.write_bytes(xlsx({"Jar": ROWS}))
    with pytest.raises(SystemExit) as left:
        main(["import", str(table), "--into", "fig", "--yes"])
    assert left.value.code == 2
    said = capsys.readouterr().err.splitlines()
    assert said == [
        "bubblerate: a.xlsx is a spreadsheet; to read it, install python-calamine "
        '(pip install "bubblerate[spreadsheets]"), or save the table as CSV'
    ]
    assert rows("Date,SG\n2026-10-12,1.004\n") == ["12Oct 21:00 1.004"]


@pytest.mark.parametrize("encoding", ["utf-16", "utf-16-le", "utf-16-be"])
def test_text_in_utf_16_is_read(encoding):
    mark = "" if encoding == "utf-16" else "\ufeff"
    text = f"{mark}Date\tTemp °C\tNote\r\n12.10.2026\t18,5\töld\r\n13.10.2026\t17\t\r\n"
    assert rows(text.encode(encoding)) == ["12Oct 21:00 18.5 öld", "13Oct 21:00 17.0"]
    assert sheet("a", text.encode(encoding)).encoding == "UTF-16"


# --- several jars --------------------------------------------------------------------------------

WIDE = (
    "Date,Fig bubbles/min,Fig SG,Plum 2 bubbles/min,Plum 2 SG,Room C,Pear SG\n"
    "2026-10-12,9,1.010,30,1.050,18,1.020\n"
)
UNDER = ",Fig,,Plum 2,,\nDate,Bubbles,SG,Bubbles,SG,Note\n2026-10-12,9,1.010,30,1.050,warm\n"
NAMES = "Date,Jar,Bubbles\n2026-10-12,Fig,9\n2026-10-12,Plum 2,30\n2026-10-13,fig ,8\n"


@pytest.mark.parametrize(
    ("table", "jar", "wanted"),
    [
        (WIDE, "fig", ["12Oct 21:00 9/60 18.0 1.01"]),
        (WIDE, "Plum 2", ["12Oct 21:00 30/60 18.0 1.05"]),
        (WIDE, "pear", ["12Oct 21:00 18.0 1.02"]),
        (UNDER, "Fig", ["12Oct 21:00 9/60 1.01"]),
        (UNDER, "plum-2", ["12Oct 21:00 30/60 1.05 warm"]),
        (NAMES, "fig", ["12Oct 21:00 9/60", "13Oct 21:00 8/60"]),
        (NAMES, "PLUM 2", ["12Oct 21:00 30/60"]),
    ],
)
def test_one_jar_is_taken_out_of_several(table, jar, wanted):
    assert rows(table, jar=jar) == wanted


@pytest.mark.parametrize(
    ("table", "jar", "said"),
    [
        (WIDE, "", "look alike; rename or delete the wrong one; if each is for a different"),
        (WIDE, "plum", 'no worksheet, column or row is of "plum"; the columns are: Date, Fig bubb'),
        (NAMES, "", 'names several jars ("fig, Plum 2"); choose one with --jar NAME'),
        (NAMES, "pear", 'column "Jar" names "Fig, Plum 2, fig", not "pear"'),
        (NAMES + "2026-10-14,,7\n", "fig", 'jar:5, column "Jar": is empty; write which jar'),
    ],
)
def test_where_it_cannot_be_told_which_jar_is_meant_it_is_asked_for(table, jar, said):
    assert said in refusal(table, jar=jar)


# --- what the maker says of a column -------------------------------------------------------------


def test_a_column_is_what_its_maker_says():
    table = "Tag der Ernte,Plopp,Rum,Count\n2026-10-12,9,18.5,4\n"
    said = ["tag der  ernte=date", "Plopp = per minute", "RUM=temp"]
    assert rows(table, said=said) == ["12Oct 21:00 9/60 18.5"]
    assert rows(table, said=[*said[:1], "Plopp=bubbles"]) == ["12Oct 21:00 9/60"]
    [_, _, _, other] = sheet(
        "a", table.encode(), meant=meanings([*said[:1], "Plopp=bubbles"])
    ).columns
    assert (other.kind, other.why) == (None, "another column was chosen for it")
    by_jar = "Date,Fig,Plum\n2026-10-12,9,30\n"
    assert rows(by_jar, said=["Fig=bubbles"]) == ["12Oct 21:00 9/60"]


@pytest.mark.parametrize(
    ("said", "message"),
    [
        (
            ["Plopp"],
            'cannot read --column "Plopp"; write "heading=meaning", where the meaning is one',
        ),
        (
            ["Plopp=fizz"],
            "one of date, time, day, bubbles, per minute, rate, seconds, temp, sg",
        ),
        (["Plopp=bubbles"], 'jar has no column "plopp"; its columns are: Date, SG'),
        (["SG=bubbles", "Sg=sg"], '--column "Sg=sg" was given twice with different meanings'),
        (["SG=temp", "Date=temp"], '--column "Date=temp" was given twice with different meanings'),
    ],
)
def test_what_cannot_be_meant_is_refused(said, message):
    assert message in refusal("Date,SG\n2026-10-12,1.004\n", said=said)


# --- all that is wrong, in one run ---------------------------------------------------------------


def test_all_faults_are_told_in_one_run(tmp_path, monkeypatch, capsys):
    monkeypatch.setenv("BUBBLERATE_SHELF", str(tmp_path))
    table = tmp_path / "a.csv"
    table.write_text(
        "Date,Bubbles,SG\nsoon,infinite,1.004\n2026-10-12,~8/min,84\n2026-10-13,9\n,lots,\n"
    )
    with pytest.raises(SystemExit) as left:
        main(["import", str(table), "--into", "fig", "--yes"])
    assert left.value.code == 2
    said = capsys.readouterr().err.splitlines()
    starts = ["2, column", "2, column", "3, column", "3, column", "4: number of", "5, column"]
    assert [line.split("a.csv:")[1][:9] for line in said] == [s[:9] for s in [*starts, "5, column"]]
    for word in ("soon", "infinite", "~8/min", "84", "lots"):
        assert sum(f'"{word}"' in line for line in said) == 1
    assert not (tmp_path / "fig.csv").exists()


def test_a_thousand_faults_fill_no_more_than_a_screen():
    bad = "Date,SG\n" + "2026-10-12,sweet\n" * 1000
    with pytest.raises(FaultsError) as caught:
        rows(bad)
    assert len(caught.value.faults) == 1000
    assert caught.value.lines[20:] == ["and 980 more like these"]
    assert str(caught.value).endswith("(999 more faults in this file)")


# --- how long was counted ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("table", "wanted"),
    [
        ("Date,Bubbles,Over\n2026-10-12,9,2 min\n", ["12Oct 21:00 9/120"]),
        ("Date,Bubbles,Time\n2026-10-12,9,90s\n2026-10-13,8,2 min\n", ["9/90", "8/120"]),
        ("Date,Bubbles,Time\n2026-10-12,9,21:15\n", ["12Oct 21:15 9/60"]),
    ],
)
def test_a_spell_beside_a_count_is_how_long_was_counted(table, wanted):
    assert [row[-len(w) :] for row, w in zip(rows(table), wanted, strict=True)] == wanted


def test_a_bare_number_under_over_is_asked_about():
    said = refusal("Date,Bubbles,Over\n2026-10-12,9,5\n")
    assert '"5" may be seconds or minutes; name the column Seconds or Minutes' in said
    boil = "Date,Bubbles,Boil time\n2026-10-12,9,20 min\n"
    assert "as a time of day" in refusal(boil)


# --- ten languages -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "table",
    [
        "Datum;Uhrzeit;Blasen pro Minute;Temperatur;Dichte;Bemerkungen\nMo, 12. Okt. 2026;{}",
        "Date;Heure;Bulles par minute;Température;Densité;Remarques\nlun. 12 octobre 2026;{}",
        "Fecha;Hora;Burbujas por minuto;Temperatura;Densidad;Notas\n12 de octubre de 2026;{}",
        "Data;Ora;Bolle al minuto;Temperatura;Densità;Nota\nlunedì 12 ottobre 2026;{}",
        "Data;Hora;Bolhas por minuto;Temperatura;Densidade;Observações\n12 de out. de 2026;{}",
        "Datum;Tijd;Bellen per minuut;Temperatuur;Dichtheid;Opmerkingen\n12 oktober 2026;{}",
        "Datum;Tid;Bubblor per minut;Temperatur;Densitet;Anteckningar\nmån 12 okt. 2026;{}",
        "Dato;Tid;Bobler per minut;Temperatur;Densitet;Noter\nman. 12. okt. 2026;{}",
        "Data;Godzina;Bąbelki na minutę;Temperatura;Gęstość;Uwagi\n12 października 2026;{}",
        "Datum;Čas;Bubliny za minutu;Teplota;Hustota;Poznámka\n12. října 2026;{}",
    ],
    ids=["de", "fr", "es", "it", "pt", "nl", "sv", "da", "pl", "cs"],
)
def test_a_table_is_understood_in_ten_languages(table):
    assert rows(table.format("20:30;9;18,5;1,012;x\n")) == ["12Oct 20:30 9/60 18.5 1.012 x"]


def test_no_word_of_another_language_means_two_things_or_an_english_heading():
    months = [word for some in tongues._MONTHS for word in some.split()]
    assert len(months) == len({*months})
    for word in months:  # what English takes for the beginning of a month's name is that month
        begins = {m.lower() for m in MONTHS if m.lower().startswith(word)}
        assert begins <= {tongues.english_date(f"1 {word} 2026").split()[1]}
    told = [word for some in tongues._HEADINGS.values() for word in some.split()]
    assert len(told) == len({*told})


@pytest.mark.parametrize("text", ["mar 24 2026", "24 mar 2026", "tue 24 nov", "24/11/26", "day 12"])
def test_an_english_date_is_what_it_was(text):
    assert readings(tongues.english_date(text)) == readings(text)


def test_the_table_is_read_with_words_that_mean_something_in_english_too():
    kinds = [column.kind for column in columns(["Date", "Note", "Time", "Temps", "Count", "Den"])]
    assert kinds == ["date", "note", "time", "temp", "bubbles", None]


# --- notes that tell of events -------------------------------------------------------------------

NOTED = (
    "Date,Bubbles per minute,Notes\n2026-10-01,,pitched\n2026-10-08,12,cold. Racked; many lees\n"
    "2026-10-20,3,topped up with water\n2026-10-28,1,not racked yet\n2026-11-01,1,bottle tomorrow\n"
    "2026-11-02,1,stil\n"
)
TOLD = ["pitched", "racked", "diluted", None, None, None]


@pytest.fixture
def noted(tmp_path, monkeypatch):
    monkeypatch.setenv("BUBBLERATE_SHELF", str(tmp_path / "shelf"))
    path = tmp_path / "noted.csv"
    path.write_text(NOTED)
    return str(path)


def imported(*words, code=0):
    with pytest.raises(SystemExit) as left:
        main(["import", *words, "--into", "fig"])
    assert (left.value.code or 0) == code


@pytest.mark.parametrize(
    ("more", "events"), [([], [None] * 6), (["--events-in-notes"], TOLD)], ids=["unsaid", "said"]
)
def test_words_of_a_note_are_shown_as_events_and_are_none_unless_that_is_said(
    noted, tmp_path, capsys, more, events
):
    imported(noted, "--yes", *more)
    shown = capsys.readouterr().out
    assert 'racked, from the note on line 3: "cold. Racked; many lees"' in shown
    assert shown.count("from the note on line") == 3
    rows = read(tmp_path / "shelf" / "fig.csv").visits
    assert [row.event for row in rows] == events
    assert rows[1].note == "cold. Racked; many lees"


@pytest.mark.parametrize(("answer", "events"), [("y", TOLD), ("n", [None] * 6)])
def test_at_a_terminal_its_maker_is_asked_whether_they_are(
    noted, tmp_path, monkeypatch, capsys, answer, events
):
    keyboard = io.StringIO(f"y\n{answer}\n")
    keyboard.isatty = lambda: True
    monkeypatch.setattr(sys, "stdin", keyboard)
    monkeypatch.setattr(sys.stdout, "isatty", lambda: True, raising=False)
    imported(noted)
    assert "Some notes may be events (3 notes)" in capsys.readouterr().out
    assert [row.event for row in read(tmp_path / "shelf" / "fig.csv").visits] == events


# --- files by another library --------------------------------------------------------------------


def by_openpyxl(table):
    """The same cells as a workbook that openpyxl writes."""
    openpyxl = pytest.importorskip("openpyxl")
    book = openpyxl.Workbook()
    for row in table:
        book.active.append(row)
    kept = io.BytesIO()
    book.save(kept)
    return kept.getvalue()


def test_a_workbook_by_openpyxl_is_read_as_it_shows():
    when = [datetime(2026, 10, 12, 21, 30), date(2026, 10, 13), "14.10.2026"]
    table = [
        ["Jar book of the shed"],
        ["Date", "Bubbles/min", "Temp C", "SG", "Over", "Notes", "pH"],
        [when[0], 9, 18.5, None, None, "wärmer", 3.4],
        [when[1], 4.5, None, 1.004, "2 min", None, None],
        [when[2], "lots", None, None, None, None, None],
    ]
    assert refusal(by_openpyxl(table)).startswith('jar:5, column "Bubbles/min": cannot read "lots"')
    table[-1][1] = 0
    assert rows(by_openpyxl(table)) == [
        "12Oct 21:30 9/60 18.5 wärmer",
        "13Oct 21:00 9/120 1.004",
        "14Oct 21:00 0/60",
    ]
