"""Sentences of the page: of its templates and of its script."""

from __future__ import annotations

import re

from . import NO_WORDS, WORDS, Say, Text

__all__ = ["in_page", "in_script"]

_MARKUP = re.compile(r"(\{#.*?#\}|\{%.*?%\}|<(?:\{\{.*?\}\}|\{%.*?%\}|[^<>])*>)", re.DOTALL)
_SHOWN = re.compile(r'\b(alt|aria-label|title|data-kept)="([^"]*)"')
_VALUE = re.compile(r"\{\{.*?\}\}", re.DOTALL)
_QUOTED = re.compile(r'"([^"]*)"')
_SCRIPT = re.compile(r'(//[^\n]*)|"((?:[^"\\\n]|\\.)*)"|`([^`]*)`')
_IN_SCRIPT = re.compile(r"\$\{[^}]*\}")


def _held(words: str, value: re.Pattern[str]) -> tuple[str, dict[str, str]]:
    """Words with a name for each value in them, and the values by name."""
    values: dict[str, str] = {}

    def named(match: re.Match[str]) -> str:
        names = re.findall(r"[A-Za-z_]\w*", re.sub(r'"[^"]*"', "", match[0])) or ["value"]
        name = names[-1] if names[-1] not in values else f"{names[-1]}_{len(values)}"
        values[name] = match[0]
        return f"{{{name}}}"

    return value.sub(named, words), values


def _filled(words: str, values: dict[str, str]) -> str:
    return re.sub(r"\{(\w+)\}", lambda match: values.get(match[1], match[0]), words)


def in_page(place: str, source: str, say: Say) -> str:
    """A template with other words in its text, its attributes and the texts of its macros."""

    def text(piece: str) -> str:
        words, values = _held(piece.strip(), _VALUE)
        if not re.search(r"[A-Za-z]{2,}", re.sub(r"\{\w+\}", "", words)):
            return _VALUE.sub(lambda match: code(match[0]), piece)
        said = _filled(say(Text(place, "", words)), values)
        return piece.replace(piece.strip(), said)

    def code(piece: str) -> str:
        if "import" in piece or "extends" in piece:
            return piece

        def quoted(match: re.Match[str]) -> str:
            words = match[1]
            shown = WORDS.search(words) or re.fullmatch(r"[A-Z][a-z]+", words)
            return f'"{say(Text(place, "", words))}"' if shown else match[0]

        return _QUOTED.sub(quoted, piece)

    def tag(piece: str) -> str:
        def attribute(match: re.Match[str]) -> str:
            words, values = _held(match[2], _VALUE)
            if not re.search(r"[A-Za-z]{2,}", re.sub(r"\{\w+\}", "", words)):
                return match[0]
            return f'{match[1]}="{_filled(say(Text(place, "", words)), values)}"'

        return _SHOWN.sub(attribute, piece)

    kinds = {"{#": str, "{%": code}
    return "".join(
        kinds.get(piece[:2], tag if piece[:1] == "<" else text)(piece)
        for piece in _MARKUP.split(source)
    )


def in_script(place: str, source: str, say: Say) -> str:
    """The script of the page with other words."""

    def other(match: re.Match[str]) -> str:
        if match[1] is not None:
            return match[0]
        words, values = _held(match[2] if match[3] is None else match[3], _IN_SCRIPT)
        bare = re.sub(r"\{\w+\}", "0", words)
        shown = WORDS.search(bare) or re.search(r"[a-z]{2,}.*\s", bare)
        if (place, words) in NO_WORDS or not (shown or re.fullmatch(r"[A-Z][a-z]+", words)):
            return match[0]
        said = _filled(say(Text(place, "", words)), values)
        return f'"{said}"' if match[3] is None else f"`{said}`"

    return _SCRIPT.sub(other, source)
