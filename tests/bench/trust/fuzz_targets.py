"""What the fuzzer feeds: readers of bytes, with good inputs of each to begin with.

Run by tests/bench/trust/fuzzing.py.
"""

from __future__ import annotations

import struct
from datetime import UTC, datetime, time
from pathlib import Path
from typing import TYPE_CHECKING

from bubblerate.diary import event_names, units
from bubblerate.diary import times as moments
from bubblerate.diary.counts import counted, whole
from bubblerate.diary.events import BREAKS, EVENTS
from bubblerate.diary.gravity_scales import gravity
from bubblerate.diary.reading import parse
from bubblerate.diary.refractometer import brix_read
from bubblerate.diary.settings import Hydrometer
from bubblerate.diary.settings_file import settings
from bubblerate.diary.sound.wav import blocks, opened
from bubblerate.diary.tables import cells, dates
from bubblerate.diary.tables.counter import log
from bubblerate.diary.tables.headings import columns
from bubblerate.diary.tables.hints import hints, with_events
from bubblerate.diary.tables.sheet import sheet
from bubblerate.diary.tables.visits import days, entries, fresh
from bubblerate.diary.visit import COLUMNS, Diary
from bubblerate.ferment.gravity import corrected_readings
from bubblerate.ferment.tail import find_tail
from bubblerate.shelf.tables import read_table, vessels
from bubblerate.show.diary_text import diary_text
from bubblerate.show.import_text import preview
from bubblerate.verdict.facts import gather_facts

from bench.trust.fuzzing import Target

if TYPE_CHECKING:
    from collections.abc import Callable

NAMES = ("diary", "typed", "wav", "import", "table", "config", "counter")
NOW = datetime(2026, 11, 25, 21, 30, tzinfo=UTC)
_EXAMPLES = Path(__file__).resolve().parents[3] / "examples"


def targets(folder: Path) -> dict[str, Target]:
    """Every target, by name; `folder` is for the files that some of them need."""
    found = (
        Target(readers=(_diary,), seeds=_DIARIES, words=_DIARY_WORDS),
        Target(readers=_TYPED, seeds=_SAID, words=_SAID_WORDS),
        Target(readers=(_from_file(folder / "fig.wav", _wav),), seeds=_WAVS, words=_WAV_WORDS),
        Target(readers=(_import,), seeds=_TABLES, words=_TABLE_WORDS),
        Target(
            readers=(_from_file(folder / "club.csv", _table),), seeds=_CLUBS, words=_DIARY_WORDS
        ),
        Target(
            readers=(_from_file(folder / "bubblerate.toml", _config),),
            seeds=_TOMLS,
            words=_TOML_WORDS,
        ),
        Target(readers=(_counter,), seeds=_LOGS, words=_TABLE_WORDS),
    )
    return dict(zip(NAMES, found, strict=True))


def _from_file(path: Path, read: Callable[[Path], object]) -> Callable[[bytes], object]:
    def reader(data: bytes) -> object:
        path.write_bytes(data)
        return read(path)

    return reader


def _diary(data: bytes) -> None:
    _looked_at(parse(Path("fig.csv"), data, pitched=None, now=NOW))


def _looked_at(diary: Diary) -> None:
    """All that is cheap of what comes after reading: not the fit."""
    assert [*diary.visits] == sorted(diary.visits, key=lambda visit: visit.when)
    rows = diary.until(NOW).batch
    if rows:
        corrected_readings(rows, Hydrometer())
        gather_facts(rows, find_tail(rows), at=NOW, threshold_per_min=1.0)
    assert diary_text(diary)
    assert diary.litres is None or diary.litres > 0.0


def _typed_by(read: Callable[[str], object]) -> Callable[[bytes], object]:
    # as the words of a command come in: bytes that are no UTF-8 as halves of surrogate pairs
    return lambda data: read(data.decode(errors="surrogateescape"))


def _aware(when: datetime) -> None:
    assert when.utcoffset() is not None
    assert when.isoformat()


_TYPED = tuple(
    _typed_by(read)
    for read in (
        whole,
        units.seconds,
        units.temp_c,
        units.sg,
        units.litres,
        lambda text: units.number(text, "it"),
        counted,
        lambda text: _aware(moments.instant(text)),
        lambda text: _aware(moments.moment(text, now=NOW)),
        lambda text: _aware(moments.moment(text, now=NOW, clock=time(23, 59), pitched=NOW)),
        lambda text: _aware(moments.moment(text, now=NOW, ahead=True)),
        moments.iso_readings,
        brix_read,
        event_names.done,
        lambda text: columns(text.splitlines()),
        lambda text: cells.counted(text, columns(["Seconds per bubble"])[0], None),
        lambda text: cells.counted(text, columns(["Bubbles per minute"])[0], 300.0),
        lambda text: cells.counted(text, columns(["Bubbles"])[0], None),
        cells.temp_c,
        cells.length_s,
        lambda text: gravity(text, scale="oechsle"),
    )
)


def _wav(path: Path) -> None:
    sound = opened(path)
    read = sum(len(block) for block in blocks(sound))
    assert read == sound.frames


def _import(data: bytes) -> None:
    table = sheet("plums.csv", data)
    for pitched in (None, NOW):
        written = days(table, pitched=pitched)
        found = dates.orders(written)
        order = found.possible[0] if found.possible else None
        moments_of = dates.moments(
            written, order=order, year=2026 if dates.yearless(written) else None, now=NOW
        )
        said = entries(table, moments_of)
        new = fresh(said.visits, said.visits[:1])
        assert [*new.visits] == sorted(new.visits, key=lambda visit: visit.when)
        told, path = hints(new.visits), Path("plum.csv")
        assert len(with_events(new.visits, told)) == len(new.visits)
        text = preview(table, written, found, order, said, new, told, None, path, now=NOW, width=80)
        assert text


def _table(path: Path) -> None:
    for one in vessels(read_table(path)):
        if isinstance(one, Diary):
            _looked_at(one)
        else:
            assert one.error.isprintable()


def _counter(data: bytes) -> None:
    found = log("counter.csv", data, every_s=3600.0)
    ends = [visit.when for visit in found.visits]
    assert ends == sorted({*ends})


def _config(path: Path) -> None:
    known = settings(path.parent)
    assert known.vessel("quince") is not None


def _wav_of(*, kind: int = 1, channels: int = 1, rate_hz: int = 8000, bits: int = 16) -> bytes:
    """A tenth of a second of silence, with its head."""
    width = channels * bits // 8
    sound = bytes(rate_hz // 10 * width)
    form = struct.pack("<HHIIHH", kind, channels, rate_hz, rate_hz * width, width, bits)
    parts = b"WAVEfmt " + struct.pack("<I", len(form)) + form
    parts += b"data" + struct.pack("<I", len(sound)) + sound[:64]
    return b"RIFF" + struct.pack("<I", len(parts)) + parts


def _whole_wav(**form: int) -> bytes:
    """The same with as much sound as its head says, no more than 64 bytes."""
    data = _wav_of(**form)
    at = data.index(b"data") + 4
    return data[:at] + struct.pack("<I", 64) + data[at + 4 :]


_HEAD = ",".join(COLUMNS)
_DIARIES = (
    *(
        (path.read_bytes()[:1200].rpartition(b"\n")[0] + b"\n")
        for path in sorted(_EXAMPLES.glob("*.csv"))
    ),
    b"day,bubbles\n0,90\n3.5,20\n7,5\n",
    f'{_HEAD}\r\n2026-11-24T21:30+01:00,8,300,18.5,1013.2,1.004,20,sampled,4.5,"clear, ""so""",\r\n'
    "2026-11-25T21:30+01:00,7,300,18.5,,,,racked,4.3,,2026-11-25T22:00\r\n".encode(),
    b'\xef\xbb\xbfwhen,day,event,note,colour\n2026-11-01,,pitched,"two\nlines",red\n,3,fed,,\n',
)
_DIARY_WORDS = (*(word.encode() for word in (*COLUMNS, *EVENTS, "day", "vessel")), b"2026-11-24T")
_SAID = tuple(
    text.encode()
    for text in (
        *("12", "none", "12 in 90s", "one every 55s", "3.2/min", "one in 20 min", "a bubble a min"),
        *("55s", "1m30s", "1:30", "2h", "5 min", "18.5", "65 F", "18C", "\u22122 \u00b0C"),
        *("1.004", "1004", "1,004", ".996", "4.5 L", "750ml", "1 UK gal", "2 us gallons"),
        *("2026-11-24T21:30", "2026-11-24 21:30:00.5 +01:00", "yesterday 9pm", "12 Oct 20:00"),
        *("last night 1am", "on Sat 9pm", "next Friday", "8,2 Brix", "21 %"),
        *("day 12.5", "Oct 12th, 2026 at 9.30 pm", "24.11.2026 21:30", "3/4/2026", "now", "9.10"),
        *("topped up", "racked, 4.2 L left", "Bubbles in 5 min", "Temp (\u00b0F)", "29 feb", "l2"),
    )
)
_SAID_WORDS = (
    *(b" in ", b" every ", b" per ", b"/", b"min", b"s", b"h", b"gal", b"pm", b"at", b"bubbles"),
    *(b"1", b"0", b".", b",", b":", b"-", b"T", b"one", b"none", b"day ", b"feb", b"o", b"l", b"i"),
)
_WAVS = (
    _whole_wav(),
    _whole_wav(channels=2, bits=24, rate_hz=44_100),
    _whole_wav(bits=8),
    _whole_wav(kind=3, bits=32, rate_hz=192_000),
    _wav_of(),
    _whole_wav().replace(b"data", b"LIST\x04\0\0\0abcddata"),
    _whole_wav().replace(struct.pack("<I", 64), b"\xff\xff\xff\xff"),
)
_WAV_WORDS = (
    *(b"RIFF", b"WAVE", b"fmt ", b"data", b"LIST", b"\xff\xff\xff\xff", b"\0\0\0\0", b"\xfe\xff"),
    *(b"\x10\0\0\0", b"\x28\0\0\0", b"\0\0\xc0\x7f", b"\0\0\x80\x7f", b"\x80\x3e\0\0", b"\x01\0"),
    *(bytes.fromhex("0100000000001000800000aa00389b71"), b"ID3", b"OggS", b"\x03\0", b"\x20\0"),
)
_TABLES = (
    b"Date,Time,Bubbles per minute,SG,Temp F,Notes\n24/11/2026,21:00,3.2,1.004,65,ok\n"
    b"13/12/26,,,-,,\n",
    b"Plum\n\nWhen;Seconds per bubble;Litres;Event;Note\nTue 24 Nov;55;4,5;racked into a jar;x\n"
    b"25 Nov;none;;fed;\n",
    b"day\tCount\tMinutes\tBrix\tDone\tstruck\n1\t90\t1\t4.0\tpitched\t\n2\t12\t5\t\t\tslip\n",
    "Datum,Date,Gravity,Temp (\u00b0C)\n1,2026-11-24 21:30,1004,18,5\n".encode("cp1252"),
    f"{_HEAD}\n2026-11-24T21:30+01:00,8,300,18.5,,1.004,20,sampled,4.5,'=1,\n".encode(),
)
_TABLE_WORDS = (
    *(b"Date", b"Time", b"day", b"Bubbles", b"per minute", b"Seconds", b"SG", b"Oechsle", b"Jar"),
    *(b"Temp F", b"Gallons", b"Note", b"Event", b"24/11/26", b"11/24/2026", b"26-11-24", b"Nov"),
    *(b"24 Nov", b"Tue ", b"day 3", b"2nd of ", b"9pm", b"none", b"every 55s", b"12 in 5 min"),
    *sorted(event.encode() for event in BREAKS),
)
_CLUBS = (
    b"vessel,when,bubbles,sg\nfig,2026-10-01T21:00,90,\nplum,2026-10-01,30,1.084\nfig,,8,\n",
    b"vessel,day,bubbles,event,note\nfig,0,,pitched,\nfig,3.5,20,,x\nplum,7,5,fed,y\n",
)
_LOGS = (
    b"when,bubbles,seconds\n2026-10-01T20:00:20Z,12,20\n2026-10-01T20:00:40Z,9,20\n"
    b"2026-10-01T22:00:00Z,8,20\n",
    b"Timestamp;Bubbles per minute;Temp F\n2026-10-01 20:00;6,5;65\n2026-10-01 21:00;6,0;\n",
    b"Date\tTime\tCount\n2026-10-01\t20:00\t6\n2026-10-01\t21:00\t5\n2026-10-01\t23:00\t1\n",
)
_TOMLS = (
    b"[hydrometer]\ncalibration_c = 20\noffset = 0.002\n[threshold]\nper_min = 1\n"
    b"[vessel.quince]\nfinish = 0.996\nlitres = 4.5\npitched = 2026-10-01\n",
    b'[vessel."old fig"]\nclear_since = 2026-12-01\nstyle = "plum wine"\nph = 3.4\n'
    b"pitched = 2026-10-01T21:00:00+01:00\n[keeping]\nracking_days = 45\n",
    b'vessel = { fig = { drink_from_months = 6, best_by_months = 36 } }\nx = [1, "a"]\n',
)
_TOML_WORDS = (
    *(b"[", b"]", b"[[", b"{", b"}", b"=", b".", b"vessel", b"keeping", b"'''", b'"""', b"\\u"),
    *(
        b"finish",
        b"pitched",
        b"style",
        b"per_min",
        b"true",
        b"inf",
        b"nan",
        b"2026-10-01",
        b"07:32",
    ),
)
