"""Counts the bubbles in a sound file from a phone, like the command `listen`."""

from __future__ import annotations

import shutil
import tempfile
from dataclasses import dataclass
from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING, Final

from werkzeug.utils import secure_filename

from ..show.sound_text import heard_text
from ..text import plain

if TYPE_CHECKING:
    from typing import IO

__all__ = ["listened"]

_ONE_AT_A_TIME: Final = Lock()  # each takes seconds on one core
_LONGEST_NAME: Final = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class SoundView:
    """What was heard.

    Attributes
    ----------
    text : tuple of str
        Lines of words.
    count : str
        As it can be written down; empty if unreliable.
    seconds : float
        Length of the sound [s].
    """

    text: tuple[str, ...]
    count: str
    seconds: float


def listened(file: IO[bytes], name: str) -> SoundView:
    """Count the bubbles in a sound.

    Parameters
    ----------
    file : binary file
    name : str
        Name of the file on the phone.

    Returns
    -------
    SoundView

    Raises
    ------
    InputError
        If it is no readable sound.
    """
    from ..diary.sound.bubbles import listen

    shown = secure_filename(name)[-_LONGEST_NAME:] or "sound"
    with tempfile.TemporaryDirectory(prefix="bubblerate-") as folder, _ONE_AT_A_TIME:
        path = Path(folder) / shown
        with path.open("wb") as out:
            shutil.copyfileobj(file, out)
        heard = listen(path)
    count = f"{heard.bubbles} in {plain(round(heard.seconds, 1))}s" if heard.trusted else ""
    lines = heard_text(heard, shown, onsets=False).splitlines()
    return SoundView(text=tuple(line.strip() for line in lines), count=count, seconds=heard.seconds)
