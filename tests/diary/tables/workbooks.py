"""Spreadsheets' own files, put together from the published formats with nothing of this program.

xlsx by ISO/IEC 29500 (Office Open XML), ods by ISO/IEC 26300 (OpenDocument), xls by the published
descriptions of compound files and BIFF8 records ([MS-CFB], [MS-XLS]).
"""

import io
import struct
import zipfile
from collections.abc import Mapping, Sequence
from datetime import datetime
from xml.sax.saxutils import escape

__all__ = ["ods", "xls", "xlsx"]

Cell = str | float | datetime | None
Sheets = Mapping[str, Sequence[Sequence[Cell]]]
_MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
_REL = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
_PACKAGE = "http://schemas.openxmlformats.org/package/2006"


def _zipped(parts: Mapping[str, str]) -> bytes:
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as packed:
        for name, text in parts.items():
            packed.writestr(name, text)
    return file.getvalue()


def _serial(when: datetime) -> float:
    """Days since 30 December 1899, as xlsx and xls keep a moment."""
    return (when - datetime(1899, 12, 30)).total_seconds() / 86_400.0


def xlsx(sheets: Sheets, *, at: str = "") -> bytes:
    """Workbook; `at` puts the last cell of the first worksheet somewhere else, such as XFD9."""
    types = "application/vnd.openxmlformats-officedocument.spreadsheetml"
    parts = {
        "[Content_Types].xml": f'<Types xmlns="{_PACKAGE}/content-types">'
        '<Default Extension="rels" '
        'ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
        f'<Default Extension="xml" ContentType="{types}.worksheet+xml"/>'
        f'<Override PartName="/xl/workbook.xml" ContentType="{types}.sheet.main+xml"/>'
        f'<Override PartName="/xl/styles.xml" ContentType="{types}.styles+xml"/></Types>',
        "_rels/.rels": f'<Relationships xmlns="{_PACKAGE}/relationships"><Relationship Id="r1" '
        f'Type="{_REL}/officeDocument" Target="xl/workbook.xml"/></Relationships>',
        "xl/styles.xml": f'<styleSheet xmlns="{_MAIN}"><cellXfs count="2"><xf numFmtId="0"/>'
        '<xf numFmtId="22" applyNumberFormat="1"/></cellXfs></styleSheet>',
    }
    named = "".join(
        f'<sheet name="{escape(name)}" sheetId="{n}" r:id="s{n}"/>'
        for n, name in enumerate(sheets, start=1)
    )
    parts["xl/workbook.xml"] = (
        f'<workbook xmlns="{_MAIN}" xmlns:r="{_REL}"><sheets>{named}</sheets></workbook>'
    )
    links = "".join(
        f'<Relationship Id="s{n}" Type="{_REL}/worksheet" Target="worksheets/sheet{n}.xml"/>'
        for n in range(1, len(sheets) + 1)
    )
    parts["xl/_rels/workbook.xml.rels"] = (
        f'<Relationships xmlns="{_PACKAGE}/relationships">{links}'
        f'<Relationship Id="st" Type="{_REL}/styles" Target="styles.xml"/></Relationships>'
    )
    for n, rows in enumerate(sheets.values(), start=1):
        body = ""
        for r, row in enumerate(rows, start=1):
            cells = (_xlsx_cell(f"{chr(65 + c)}{r}", cell) for c, cell in enumerate(row))
            body += f'<row r="{r}">{"".join(cells)}</row>'
        body += f'<row r="{at.lstrip("XFD")}">{_xlsx_cell(at, 1.0)}</row>' if at else ""
        parts[f"xl/worksheets/sheet{n}.xml"] = (
            f'<worksheet xmlns="{_MAIN}"><sheetData>{body}</sheetData></worksheet>'
        )
    return _zipped(parts)


def _xlsx_cell(place: str, cell: Cell) -> str:
    match cell:
        case None:
            return f'<c r="{place}"/>'
        case datetime():
            return f'<c r="{place}" s="1"><v>{_serial(cell)!r}</v></c>'
        case str():
            return f'<c r="{place}" t="inlineStr"><is><t>{escape(cell)}</t></is></c>'
    return f'<c r="{place}"><v>{cell!r}</v></c>'


def ods(sheets: Sheets) -> bytes:
    """Workbook."""
    space = "urn:oasis:names:tc:opendocument:xmlns"
    tables = "".join(
        f'<table:table table:name="{escape(name)}">'
        + "".join(
            f"<table:table-row>{''.join(map(_ods_cell, row))}</table:table-row>" for row in rows
        )
        + "</table:table>"
        for name, rows in sheets.items()
    )
    kind = "application/vnd.oasis.opendocument.spreadsheet"
    return _zipped(
        {
            "mimetype": kind,
            "META-INF/manifest.xml": f'<manifest:manifest xmlns:manifest="{space}:manifest:1.0">'
            f'<manifest:file-entry manifest:full-path="/" manifest:media-type="{kind}"/>'
            '<manifest:file-entry manifest:full-path="content.xml" '
            'manifest:media-type="text/xml"/></manifest:manifest>',
            "content.xml": f'<office:document-content xmlns:office="{space}:office:1.0" '
            f'xmlns:table="{space}:table:1.0" xmlns:text="{space}:text:1.0" '
            'office:version="1.2"><office:body><office:spreadsheet>'
            f"{tables}</office:spreadsheet></office:body></office:document-content>",
        }
    )


def _ods_cell(cell: Cell) -> str:
    match cell:
        case None:
            return "<table:table-cell/>"
        case datetime():
            kind, value, shown = "date", f'office:date-value="{cell.isoformat()}"', str(cell)
        case str():
            kind, value, shown = "string", "", cell
        case _:
            kind, value, shown = "float", f'office:value="{cell!r}"', str(cell)
    return (
        f'<table:table-cell office:value-type="{kind}" {value}>'
        f"<text:p>{escape(shown)}</text:p></table:table-cell>"
    )


def xls(name: str, rows: Sequence[Sequence[Cell]]) -> bytes:
    """Workbook of one worksheet."""
    formats = _record(0x00E0, struct.pack("<HHHHBBBBIIH", 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0))
    formats += _record(0x00E0, struct.pack("<HHHHBBBBIIH", 0, 22, 0, 0, 0, 0, 0, 0, 0, 0, 0))
    start = _record(0x0809, struct.pack("<HHHHII", 0x0600, 0x0005, 0, 1997, 0, 0))
    title = struct.pack("<BB", len(name), 0) + name.encode("latin-1")
    offset = len(start) + len(formats) + 4 + 6 + len(title) + 4
    book = start + formats + _record(0x0085, struct.pack("<IH", offset, 0) + title)
    book += _record(0x000A, b"")
    book += _record(0x0809, struct.pack("<HHHHII", 0x0600, 0x0010, 0, 1997, 0, 0))
    for r, row in enumerate(rows):
        book += b"".join(_xls_cell(r, c, cell) for c, cell in enumerate(row) if cell is not None)
    return _compound(book + _record(0x000A, b""))


def _record(kind: int, data: bytes) -> bytes:
    return struct.pack("<HH", kind, len(data)) + data


def _xls_cell(row: int, column: int, cell: Cell) -> bytes:
    if isinstance(cell, str):
        text = struct.pack("<HB", len(cell), 1) + cell.encode("utf-16-le")
        return _record(0x0204, struct.pack("<HHH", row, column, 0) + text)
    dated = isinstance(cell, datetime)
    value = _serial(cell) if isinstance(cell, datetime) else cell
    return _record(0x0203, struct.pack("<HHHd", row, column, int(dated), value))


def _compound(stream: bytes) -> bytes:
    """Compound file of one stream: a table of sectors, a directory, then the stream."""
    stream = stream.ljust(4096, b"\0")
    stream += b"\0" * (-len(stream) % 512)
    count, end, free = len(stream) // 512, 0xFFFFFFFE, 0xFFFFFFFF
    fat = [0xFFFFFFFD, end, *range(3, count + 2), end]
    head = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(16)
    head += struct.pack(
        "<HHHHH6xIIIIIIIII", 0x3E, 3, 0xFFFE, 9, 6, 0, 1, 1, 0, 4096, end, 0, end, 0
    )
    head += struct.pack("<109I", 0, *[free] * 108)
    folder = _entry("Root Entry", 5, 1, end, 0) + _entry("Workbook", 2, free, 2, len(stream))
    return (
        head + struct.pack("<128I", *fat, *[free] * (128 - len(fat))) + folder.ljust(512, b"\0")
    ) + stream


def _entry(name: str, kind: int, child: int, start: int, size: int) -> bytes:
    text = (name + "\0").encode("utf-16-le")
    ids = struct.pack("<III", 0xFFFFFFFF, 0xFFFFFFFF, child)
    return (
        text.ljust(64, b"\0") + struct.pack("<HBB", len(text), kind, 1) + ids + bytes(36)
        + struct.pack("<IQ", start, size)
    )  # fmt: skip
