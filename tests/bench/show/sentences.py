"""Print every sentence that the program can say, to be read aloud, and how easy they are to read.

Ease is by R. Flesch, "A new readability yardstick", J. Applied Psychology 32 (1948) 221-233 (from
memory), a syllable being a run of vowels except a last e: 60 to 70 is plain, more is easier.

Run: python tests/bench/show/sentences.py
"""

from __future__ import annotations

import re
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from spoken import sentences


def syllables(word: str) -> int:
    """Runs of vowels; a last e is silent but after l."""
    bare = word.removesuffix("e") if not word.endswith("le") else word
    return max(1, len(re.findall(r"[aeiouy]+", bare)))


def ease(texts: list[str]) -> float:
    """Reading ease of sentences."""
    words = [word for text in texts for word in re.findall(r"[a-z']+", text.lower())]
    spoken = sum(syllables(word) for word in words)
    return 206.835 - 1.015 * len(words) / len(texts) - 84.6 * spoken / len(words)


if __name__ == "__main__":
    said = [*sentences()]
    for one in said:
        print(f"{one.where:40} {one.text}")
    whole = [one.text for one in said if one.text[:1].isupper() and one.text[-1:] in ".?!"]
    print(f"{len(said)} sentences; reading ease of the {len(whole)} whole ones: {ease(whole):.0f}")
