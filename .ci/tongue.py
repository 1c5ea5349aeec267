"""Collect every sentence that a person reads, and build the program in another tongue.

    python .ci/tongue.py                  writes the template, .ci/bubblerate.pot
    python .ci/tongue.py cs.po build/cs   copies the package, with the sentences of cs.po in it

The program knows nothing of this: its sentences stand in the code, with their values in them. They
are found in the syntax tree, so a translator may move a value within a sentence, but not lose one.
Codes, options, columns and events are no sentences; what people type is read as before. Plurals,
days and rates are put into words by `bubblerate/text.py` alone, which a tongue replaces whole, by
`cs.text.py` beside `cs.po`, where there is one. Other numbers keep their decimal point.
"""

from __future__ import annotations

import shutil
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import polib
from sentences import PACKAGE, Say, Text, fields
from sentences.in_page import in_page, in_script
from sentences.in_python import in_python

if TYPE_CHECKING:
    from collections.abc import Iterator

TEMPLATE = Path(__file__).resolve().parent / "bubblerate.pot"


def worded(say: Say) -> Iterator[tuple[str, str]]:
    """Place and contents of each file that holds sentences, with the words that `say` gives."""
    ways = ((".py", in_python), (".html", in_page), (".js", in_script))
    for path in sorted(path for path in PACKAGE.rglob("*.*") if path.is_file()):
        place = path.relative_to(PACKAGE).as_posix()
        for suffix, way in ways:
            if path.suffix == suffix and not place.startswith("examples/"):
                yield place, way(place, path.read_text("utf-8"), say)


def texts() -> list[Text]:
    """Every sentence, in the order of the files."""
    found: list[Text] = []

    def keep(text: Text) -> str:
        found.append(text)
        return text.words

    for _ in worded(keep):
        pass
    return found


def template() -> polib.POFile:
    """Every sentence once, with the files that it stands in."""
    made = polib.POFile(check_for_duplicates=False)
    made.metadata = {"Content-Type": "text/plain; charset=UTF-8", "Language": ""}
    entries: dict[tuple[str, str], polib.POEntry] = {}
    for text in texts():
        key = text.context, text.words
        if key not in entries:
            entries[key] = polib.POEntry(msgid=text.words, msgctxt=text.context or None)
            if fields(text.words):
                entries[key].flags.append("python-brace-format")
            made.append(entries[key])
        if (text.place, "") not in entries[key].occurrences:
            entries[key].occurrences.append((text.place, ""))
    return made


def refusals(po: polib.POFile) -> list[str]:
    """What is wrong with a translation: values lost, doubled or made up, and blanks at its ends."""
    wrong = []
    for entry in po.translated_entries():
        old, new = entry.msgid, entry.msgstr
        if fields(old) != fields(new):
            wrong.append(f"{new!r}: it needs the values of {old!r}")
        elif (old[:1].isspace(), old[-1:].isspace()) != (new[:1].isspace(), new[-1:].isspace()):
            wrong.append(f"{new!r}: blanks at its ends, as in {old!r}")
    return wrong


def build(po: polib.POFile, out: Path, *, words_of: Path | None = None) -> Path:
    """Copy the package with the sentences of a translation in it; what it lacks stays English.

    Raises
    ------
    ValueError
        If a translation is refused; then nothing is written.
    """
    if wrong := refusals(po):
        raise ValueError("\n".join(wrong))
    said = {(entry.msgctxt or "", entry.msgid): entry.msgstr for entry in po.translated_entries()}
    made = out / "bubblerate"
    shutil.copytree(PACKAGE, made, ignore=shutil.ignore_patterns("__pycache__"))
    for place, source in worded(lambda text: said.get((text.context, text.words), text.words)):
        (made / place).write_text(source, "utf-8")
    if words_of is not None and words_of.exists():
        shutil.copy(words_of, made / "text.py")
    return made


def main(words: list[str]) -> None:
    """Write the template, or a copy of the package in the tongue of a file."""
    if not words:
        template().save(str(TEMPLATE))
        return
    path, out = Path(words[0]), Path(words[1])
    try:
        made = build(polib.pofile(str(path)), out, words_of=path.with_suffix(".text.py"))
    except ValueError as err:
        sys.exit(str(err))
    print(f"{made} is in the tongue of {path}")


if __name__ == "__main__":
    main(sys.argv[1:])
