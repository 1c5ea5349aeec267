"""Every way in, tried with files of other programs; and what is still refused, word for word.

    python tests/bench/diary/doors.py

What a machine lacks (soffice, ffmpeg, openpyxl) is said and left out.
"""

from __future__ import annotations

import contextlib
import io
import json
import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np

sys.path[:0] = [str(Path(__file__).resolve().parents[2])]

from bubblerate.cli import main  # noqa: E402 - from beside this file
from bubblerate.diary.reading import read  # noqa: E402
from bubblerate.errors import BubbleRateError  # noqa: E402

from bench.sound import sounds  # noqa: E402

TABLE = (
    "Datum;Blasen;Dauer;Temperatur;SG;Notizen\n"
    "12.10.2026 21:30;14;90s;18,5;;wärmer\n"
    "13.10.2026 21:00;9;60s;18;1,004;klar\n"
)
COLUMNS = ["--column", "Blasen=bubbles", "--column", "Dauer=seconds"]
# semicolons, quotes, UTF-8, from line 1, German, numbers as they are shown
GERMAN = "Text - txt - csv (StarCalc):59,34,76,1,,1031,false,true"
DIARY = (
    "when,bubbles,seconds,temp_c,pressure_hpa,sg,sample_c,event,litres,note,struck\r\n"
    "2026-10-01T20:00:00+00:00,,,,,1.084,,pitched,4.5,,\r\n"
    "2026-10-12T21:30:00+00:00,14,90,18.5,,,,,,warm,\r\n"
)
REFUSED = {
    "notes.docx": b"PK\x03\x04 no workbook",
    "table.numbers": b"PK\x03\x04" + b"\0" * 60,
    "page.html": b"<html><table><tr><td>Date</td></tr></table></html>",
    "photo.jpg": b"\xff\xd8\xff\xe0" + b"\0" * 100,
    "no-dates.csv": b"Bubbles,SG\n9,1.010\n",
    "no-heads.csv": b"2026-10-12,9\n2026-10-13,8\n",
    "two-ways.csv": b"Date,SG\n03/04/2026,1.010\n04/05/2026,1.008\n",
    "words.csv": b"Date,Bubbles per minute\n2026-10-12,lots\n2026-10-14,9 or 10\n",
    "several.csv": b"Date,Jar,SG\n2026-10-12,Fig,1.010\n2026-10-12,Plum,1.020\n",
    "hydrometer-corrected.csv": b"Date,Corrected SG\n2026-10-12,1.010\n",
    "voice.m4a": b"\0\0\0\x20ftypM4A " + b"\0" * 200,
    "film.mp4": b"\0\0\0\x20ftypisom" + b"\0" * 200,
    "empty.csv": b"",
}


def told(*words: str) -> tuple[int, str]:
    """Exit code of a command, and the last line that it printed."""
    out, err = io.StringIO(), io.StringIO()
    code = 0
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        try:
            main([*words])
        except SystemExit as left:
            code = int(left.code or 0)
    if "--json" in words and not code:
        return code, out.getvalue()
    lines = (err.getvalue() or out.getvalue()).strip().splitlines()
    return code, lines[-1] if lines else ""


def office(path: Path, to: str) -> Path | None:
    """The same file saved by LibreOffice as another kind."""
    if shutil.which("soffice") is None:
        return None
    words = ["soffice", "--headless", "--infilter=CSV:59,34,76,1", "--convert-to", to, path.name]
    subprocess.run(words, cwd=path.parent, capture_output=True, timeout=180, check=False)
    made = path.with_suffix("." + to.partition(":")[0])
    return made if made.exists() else None


def by_openpyxl(path: Path) -> Path | None:
    """A workbook that openpyxl wrote."""
    try:
        import openpyxl
    except ImportError:
        return None
    book = openpyxl.Workbook()
    for line in TABLE.splitlines():
        book.active.append(line.split(";"))
    book.save(path)
    return path


def tables(folder: Path) -> None:
    """Tables of other programs, imported."""
    source = folder / "table.csv"
    source.write_text(TABLE)
    doors = {
        "as typed, semicolons": source,
        "openpyxl, xlsx": by_openpyxl(folder / "byopenpyxl.xlsx"),
        **{f"LibreOffice, {kind}": office(source, kind) for kind in ("xlsx", "ods", "xls")},
    }
    for n, (door, path) in enumerate(doors.items()):
        said = "left out: the program is not here"
        if path is not None:
            code, line = told("import", str(path), "--into", f"jar{n}", "--yes", *COLUMNS)
            rows = [] if code else read(folder / "shelf" / f"jar{n}.csv").visits
            same = [(v.bubbles, v.seconds, v.temp_c, v.sg) for v in rows]
            good = same == [(14, 90.0, 18.5, None), (9, 60.0, 18.0, 1.004)]
            said = "both rows, every cell" if good else f"NOT THE SAME: {line} {same}"
        print(f"  {door:32s} {said}")


def saved_again(folder: Path) -> None:
    """A diary that a spreadsheet saved again, read and written in."""
    for kind, target in (("commas", "csv"), ("semicolons", "csv:" + GERMAN)):
        said = "left out: the program is not here"
        (folder / kind).mkdir()
        diary, book = folder / kind / "fig.csv", folder / kind / "fig.ods"
        diary.write_text(DIARY)
        if shutil.which("soffice"):
            numbers = "--infilter=Text - txt - csv (StarCalc):44,34,76,1,,1033,false,true"
            open_it = ["soffice", "--headless", numbers, "--convert-to", "ods", "fig.csv"]
            save_it = ["soffice", "--headless", "--convert-to", target, book.name]
            for words in (open_it, save_it):
                subprocess.run(
                    words, cwd=book.parent, capture_output=True, timeout=180, check=False
                )
            code, line = told("tally", str(diary), "9", "--when", "2026-10-13T21:00")
            try:
                rows = [v.bubbles for v in read(diary).visits]
            except BubbleRateError as err:
                code, line, rows = 2, str(err), []
            said = "read, and a count added" if not code and rows == [None, 14, 9] else line
            said += f"   ({diary.read_text().splitlines()[1]})"
        print(f"  {'LibreOffice, ' + kind:32s} {said}")


def takes(folder: Path) -> None:
    """Recordings by other coders, listened to."""
    take = sounds.airlock(62, seconds=60.0, per_min=15.0, snr_db=20.0, rate_hz=48_000)
    wav = sounds.saved(folder / "take.wav", take)
    forms = {"flac": ("FLAC", "PCM_16"), "ogg": ("OGG", "VORBIS"), "opus": ("OGG", "OPUS")}
    made: dict[str, Path | None] = {"wav": wav}
    try:
        import soundfile

        for name, (form, codec) in forms.items():
            path = folder / f"bysoundfile.{name}"
            with soundfile.SoundFile(path, "w", take.rate_hz, 1, codec, format=form) as file:
                for second in np.split(take.wave, 60):
                    file.write(second)
            made[f"soundfile, {name}"] = path
    except ImportError:
        made["soundfile"] = None
    for name in ("flac", "ogg", "opus", "mp3", "m4a"):
        path = folder / f"byffmpeg.{name}"
        if shutil.which("ffmpeg"):
            words = ["ffmpeg", "-loglevel", "error", "-y", "-i", str(wav), str(path)]
            subprocess.run(words, check=False, capture_output=True)
        made[f"ffmpeg, {name}"] = path if path.exists() else None
    print(f"  {len(take.onsets_s)} bubbles were put in")
    for door, where in made.items():
        said = "left out: the program is not here"
        if where is not None:
            code, said = told("listen", str(where), "--json")
            said = said if code else f"{json.loads(said)['bubbles']} heard"
        print(f"  {door:32s} {said}")


def refused(folder: Path) -> None:
    """What no door takes, and the sentence that it gets."""
    for name, data in REFUSED.items():
        path = folder / name
        path.write_bytes(data)
        words = ["listen", str(path)] if path.suffix in {".m4a", ".mp4"} else None
        words = words or ["import", str(path), "--into", "no", "--yes"]
        code, line = told(*words)
        print(f"  {name:26s} {'REFUSED' if code == 2 else 'TAKEN'}: {line[12:]}")


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as name:
        where = Path(name)
        os.environ["BUBBLERATE_SHELF"] = str(where / "shelf")
        for title, act in (
            ("Tables", tables),
            ("A diary that was saved again", saved_again),
            ("Recordings", takes),
            ("Refused", refused),
        ):
            print(f"\n{title}")
            act(where)
