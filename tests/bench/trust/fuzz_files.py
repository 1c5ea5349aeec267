"""What the fuzzer feeds too: workbooks, Parquet, coded sounds, what phones and sensors send.

Inputs are laid out so that a random change is seldom lost to a checksum: the parts of a workbook
are changed before they are zipped, and a form goes to the row that it makes, over http and not.
"""

from __future__ import annotations

import io
import json
import warnings
import zipfile
from datetime import datetime, timedelta
from typing import TYPE_CHECKING
from urllib.parse import parse_qsl

from diary.tables.workbooks import ods, xls, xlsx

from bubblerate.diary.shelf import shelf_at
from bubblerate.diary.sound.files import blocks, opened
from bubblerate.diary.tables import dates
from bubblerate.diary.tables.sheet import sheet
from bubblerate.diary.tables.visits import days, entries
from bubblerate.diary.tables.workbook import grids
from bubblerate.diary.visit import Diary
from bubblerate.errors import InputError
from bubblerate.page.entries import Entries
from bubblerate.page.forms import Form
from bubblerate.page.sensor import rows_of, write_rows
from bubblerate.shelf.tables import read_table, vessels

from bench.trust.fuzzing import Target
from phones import NOW, ORIGIN, Phone, pages_of, shelf_in

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

NAMES = ("workbook", "parquet", "coded", "forms", "rows")
APART = b"\x1e"  # between the parts of a workbook that is still to be zipped
FIRST = "0123456789abcdef"


def targets(folder: Path) -> dict[str, Target]:
    """Every target, by name; `folder` is for the files that they need."""
    found = (
        Target(readers=(_workbook,), seeds=_books(), words=_BOOK_WORDS, longest=9000),
        Target(
            readers=(_parquet(folder),), seeds=_parquets(folder), words=_PARQUET_WORDS, longest=9000
        ),
        Target(readers=(_coded(folder),), seeds=_sounds(folder), words=_SOUND_WORDS, longest=9000),
        Target(readers=_forms(folder / "forms"), seeds=_FORMS, words=_FORM_WORDS),
        Target(readers=_rows(folder / "rows"), seeds=_ROWS, words=_ROW_WORDS),
    )
    return dict(zip(NAMES, found, strict=True))


# --- workbooks -----------------------------------------------------------------------------------

_TABLE = (
    ("Date", "Bubbles", "Minutes", "SG", "Event", "Note"),
    (datetime(2026, 11, 24, 21, 30), 12.0, 5.0, 1.004, "racked", "a & b"),
    (datetime(2026, 11, 25, 21, 30), 8.0, 5.0, None, None, None),
)


def _books() -> tuple[bytes, ...]:
    whole = xlsx({"plum": _TABLE, "sloe": _TABLE[:2]})
    files = (whole, ods({"plum": _TABLE}), xls("plum", _TABLE))
    return (*(_parts(one) for one in files[:2]), *files)


def _parts(book: bytes) -> bytes:
    """A zipped workbook as its names and parts one after the other."""
    with zipfile.ZipFile(io.BytesIO(book)) as packed:
        both = ((name.encode(), packed.read(name)) for name in packed.namelist())
        return APART.join(part for pair in both for part in pair)


def _workbook(data: bytes) -> None:
    if APART in data:
        names = data.split(APART)
        file = io.BytesIO()
        with zipfile.ZipFile(file, "w") as packed, warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of a name that comes twice
            for name, part in zip(names[::2], names[1::2], strict=False):
                packed.writestr(name.decode("ascii", "replace").replace("\0", "") or "x", part)
        data = file.getvalue()
    for grid in grids("plum.xlsx", data):
        assert all(isinstance(cell, str) for row in grid.rows for cell in row.cells)
    table = sheet("plum.xlsx", data)
    written = days(table, pitched=NOW)
    order = (*dates.orders(written).possible, None)[0]
    year = 2026 if dates.yearless(written) else None
    entries(table, dates.moments(written, order=order, year=year, now=NOW))


_BOOK_WORDS = (
    *(b"<c", b"</c>", b"<row>", b' r="A1"', b' r="XFD1048576"', b' t="s"', b' t="d"', b' t="e"'),
    *(b' t="b"', b"<v>", b"</v>", b"#N/A", b"45985.9", b"1e308", b"-1", b"<f>1/0</f>", b"<is><t>"),
    *(b'table:number-columns-repeated="99"', b"office:value", b"&amp;", b"&#x1b;", b"&x;", APART),
    *(b"xl/sharedStrings.xml", b"xl/worksheets/sheet1.xml", b"content.xml", b"date1904", b"PK"),
)

# --- tables of many vessels ----------------------------------------------------------------------


def _parquet(folder: Path) -> Callable[[bytes], None]:
    path = folder / "club.parquet"

    def reader(data: bytes) -> None:
        path.write_bytes(data)
        for one in vessels(read_table(path)):
            assert isinstance(one, Diary) or one.error.isprintable()

    return reader


def _parquets(folder: Path) -> tuple[bytes, ...]:
    import pandas as pd

    moments = [NOW - timedelta(days=n) for n in (3, 2, 1)]
    table = pd.DataFrame({"vessel": ["fig", "fig", "plum"], "when": moments, "bubbles": [9, 8, 7]})
    found = []
    for one in (table, table.assign(when=[m.isoformat() for m in moments], sg=[1.0, None, 1.01])):
        one.to_parquet(folder / "seed.parquet", compression=None)
        found.append((folder / "seed.parquet").read_bytes())
    return tuple(found)


_PARQUET_WORDS = (
    *(b"PAR1", b"pandas", b"vessel", b"when", b"bubbles", b"day", b"\x15\x00", b"\x15\x02"),
    *(b"\xff\xff\xff\xff", b"\x00\x00\x00\x80", b"\x19\x1c", b"UTC", b"fig", b"\x15\x0c"),
)

# --- coded sounds --------------------------------------------------------------------------------


def _coded(folder: Path) -> Callable[[bytes], None]:
    path = folder / "fig.sound"

    def reader(data: bytes) -> None:
        path.write_bytes(data)
        sound = opened(path)
        assert sum(len(block) for block in blocks(sound)) <= sound.frames + sound.rate_hz

    return reader


def _sounds(folder: Path) -> tuple[bytes, ...]:
    import numpy as np
    import soundfile

    wave = np.sin(np.arange(1200) / 9.0) * 0.3
    found = []
    for ending, form, rate_hz in (
        *(("flac", "FLAC", 8000), ("ogg", "OGG", 8000), ("mp3", "MP3", 16_000)),
        *(("opus", "OGG", 16_000), ("aiff", "AIFF", 8000), ("au", "AU", 8000)),
    ):
        path = folder / f"seed.{ending}"
        how = {"subtype": "OPUS"} if ending == "opus" else {}
        soundfile.write(path, wave, rate_hz, format=form, **how)
        found.append(path.read_bytes())
    return tuple(found)


_SOUND_WORDS = (
    *(b"fLaC", b"OggS", b"OpusHead", b"\x01vorbis", b"ID3", b"\xff\xfb", b"FORM", b"AIFF", b"COMM"),
    *(b"\xff\xff\xff\xff", b"\0\0\0\0", b"\x00\x00\x00\x22", b"\x7f\xff\xff\xff", b"\x01\x00"),
)

# --- what phones and sensors send ----------------------------------------------------------------


def _fresh(folder: Path) -> Callable[[], None]:
    """Put the diary back as it was, so that it does not grow from one input to the next."""
    shelf_in(folder, "fig")
    was = (folder / "fig.csv").read_bytes()

    def fresh() -> None:
        (folder / "fig.csv").write_bytes(was)

    return fresh


def _sent(phone: Phone, what: str, kind: str, fresh: Callable[[], None]) -> Callable[[bytes], None]:
    headers = {"Origin": ORIGIN, "Accept": "application/json", "Content-Type": kind}

    def reader(data: bytes) -> None:
        fresh()
        answer = phone.post(f"/jar/fig/{what}", data, headers=headers)
        assert answer.status_code < 500, answer.text
        if answer.status_code >= 400:
            raise InputError(answer.get_json()["error"])

    return reader


def _forms(folder: Path) -> tuple[Callable[[bytes], None], ...]:
    folder.mkdir(exist_ok=True)
    fresh, phone = _fresh(folder), Phone(pages_of(folder))
    kinds = ("application/x-www-form-urlencoded", "multipart/form-data; boundary=b")
    over = [_sent(phone, what, kind, fresh) for what in ("tally", "event") for kind in kinds]
    return (*(_taken(folder, what, fresh) for what in ("tally", "gravity", "event")), *over)


def _taken(folder: Path, what: str, fresh: Callable[[], None]) -> Callable[[bytes], None]:
    """A form that goes straight to the row that it makes."""
    known = Entries(folder)

    def reader(data: bytes) -> None:
        fresh()
        pairs = parse_qsl(data.decode("utf-8", "replace"), keep_blank_values=True)
        fields = {name: value.strip() for name, value in pairs}
        form = Form(jar="fig", what=what, fields={k: v for k, v in fields.items() if v})
        said = known.take(form, shelf_at(folder), now=NOW)
        assert said.text.isprintable()

    return reader


def _rows(folder: Path) -> tuple[Callable[[bytes], None], ...]:
    folder.mkdir(exist_ok=True)
    fresh, phone = _fresh(folder), Phone(pages_of(folder))

    def reader(data: bytes) -> None:
        fresh()
        try:
            said = json.loads(data)
        except (ValueError, RecursionError):
            raise InputError("no JSON") from None
        visits = rows_of(said, now=NOW)
        assert write_rows(shelf_at(folder), "fig", visits) <= len(visits)
        assert write_rows(shelf_at(folder), "fig", visits) == 0

    return reader, _sent(phone, "rows", "application/json", fresh)


_FORMS = (
    f"key={FIRST}&count=12+in+90s&temp=18.5&when=yesterday+9pm&note=a+b".encode(),
    f"key={FIRST}&count=none+in+5m&ago=12.5&go=evening".encode(),
    f"key={FIRST}&gravity=1.004+at+17C&temp=65F&when=12+Oct+20:00".encode(),
    f"key={FIRST}&event=bottled&litres=4.3&bottles=6x75cl&closure=cork&gravity=.996".encode(),
    f"key={FIRST}&event=fed&added=0.3&sugar=50g&note=%3D1%2B1".encode(),
    b'--b\r\nContent-Disposition: form-data; name="key"\r\n\r\n' + FIRST.encode() + b"\r\n"
    b'--b\r\nContent-Disposition: form-data; name="count"\r\n\r\n12\r\n--b--\r\n',
)
_FORM_WORDS = (
    *(b"&", b"=", b"%", b"+", b"%00", b"%1b", b"%ff", b"%F0%9F%8D%87", b"key=", b"&count="),
    *(b"&temp=", b"&when=", b"&note=", b"&ago=", b"&gravity=", b"&event=", b"&litres=", b"&added="),
    *(b"&sugar=", b"&bottles=", b"&closure=", b"6x75cl", b"cork", b"bottled", b"--b\r\n"),
    *(b"Content-Disposition: form-data; name=", b"filename=", b"; charset=utf-16", b"opened"),
)
_ROWS = (
    b'[{"when": "2026-10-20T20:00:00+00:00", "bubbles": 12, "seconds": 300, "temp_c": 18.5}]',
    b'[{"when": "2026-10-20T20:30:00Z", "bubbles": 0, "seconds": 60.5, "pressure_hpa": 1013},\n'
    b'{"when": "2026-10-19T20:30", "bubbles": 9, "seconds": 60}]',
)
_ROW_WORDS = (
    *(b"[", b"]", b"{", b"}", b",", b":", b'"', b"null", b"true", b"NaN", b"Infinity", b"1e999"),
    *(b'"when"', b'"bubbles"', b'"seconds"', b'"temp_c"', b'"pressure_hpa"', b'"sg"', b"\\ud800"),
    *(b'"2026-10-20T20:00:00+00:00"', b'"0001-01-01T00:00:00+23:59"', b"-0.0", b"9" * 25),
)
