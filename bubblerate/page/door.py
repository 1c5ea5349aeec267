"""Decides which requests are let in: by key, by name of the host, and by where a form is from.

There are three checks on every request. The Host must be a name of this machine, so that no foreign
name can point here. There must be a cookie that was given for the key, which is only in the printed
address. What writes must come from the page itself, by its Origin.
"""

from __future__ import annotations

import hmac
import os
import secrets
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, NamedTuple

from ..diary.safe_write import made
from ..errors import InputError

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["Door", "Refused", "door_key"]

_KEY_BYTES: Final = 16  # 128 bits: not to be guessed
_KEY_LETTERS: Final = 22  # length of these bytes in base 64
_HTTP_PORT: Final = 80  # the port that browsers leave out


class Refused(NamedTuple):
    """Why a request is refused: an HTTP status and a sentence."""

    status: int
    text: str


_FOREIGN_HOST: Final = Refused(
    400, "This is not the page's address; open the one that bubblerate phone printed."
)
_UNKNOWN: Final = Refused(
    403,
    "This phone is not known here. Scan the code that bubblerate phone printed, then reload this "
    "page.",
)
_FOREIGN_PAGE: Final = Refused(
    403, "This did not come from the page itself, so nothing was written. Enter it there."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Door:
    """What decides whether a request is let in.

    Attributes
    ----------
    key : str
        Key of the shelf, from `door_key`.
    names : tuple of str
        Addresses and names of this machine on its network, the printed one first.
    port : int
    """

    key: str
    names: tuple[str, ...]
    port: int

    @property
    def address(self) -> str:
        """Where the page is."""
        return f"http://{self._host(self.names[0])}"

    @property
    def entrance(self) -> str:
        """Address with the key, to be opened once on a phone."""
        return f"{self.address}/k/{self.key}"

    @property
    def cookie(self) -> str:
        """Name of the cookie, which differs by port, since two shelves may be served."""
        return f"bubblerate-{self.port}"

    @property
    def pass_(self) -> str:
        """Value of the cookie, which changes with the key."""
        return self._derived("cookie")

    @property
    def calendar_key(self) -> str:
        """What lets a calendar fetch the steps, and nothing else: it holds no cookie."""
        return self._derived("calendar")

    def opened_by(self, key: str) -> bool:
        """Whether a key is the one of the shelf."""
        return _same(key, self.key)

    def refusal(
        self,
        *,
        host: str | None,
        cookie: str | None,
        origin: str | None,
        writes: bool,
        calendar_key: str | None = None,
    ) -> Refused | None:
        """Say why a request is refused; None if it may be answered.

        Parameters
        ----------
        host, origin : str or None
            Headers of the request.
        cookie : str or None
            Value of the cookie.
        writes : bool
            Whether it may change something.
        calendar_key : str, optional
            If the calendar is asked for.

        Returns
        -------
        Refused or None
        """
        if foreign := self.foreign(host):
            return foreign
        known = _same(cookie or "", self.pass_)
        if not known and not _same(calendar_key or "", self.calendar_key):
            return _UNKNOWN
        if writes and origin != f"http://{host}":
            return _FOREIGN_PAGE
        return None

    def foreign(self, host: str | None) -> Refused | None:
        """Say why a name is refused; None if it is one of this machine."""
        known = {self._host(name) for name in self.names}
        return None if (host or "").lower() in known else _FOREIGN_HOST

    def _host(self, name: str) -> str:
        return name if self.port == _HTTP_PORT else f"{name}:{self.port}"

    def _derived(self, use: str) -> str:
        return hmac.digest(self.key.encode(), use.encode(), "sha256").hex()


def door_key(folder: Path, *, new: bool = False) -> str:
    """Read or make the key of a shelf, stored in a file that only its owner may read.

    Parameters
    ----------
    folder : Path
        The shelf; made if missing.
    new : bool
        Whether to make another, which shuts out all phones.

    Returns
    -------
    str
        128 random bits, in letters that are allowed in an address.

    Raises
    ------
    InputError
        If the file cannot be read or written.
    """
    path = folder / ".bubblerate.phone-key"
    try:
        made(folder)
        if not new and path.exists():
            key = path.read_text(encoding="ascii", errors="replace").strip()
            if len(key) == _KEY_LETTERS and key.isascii():
                return key
        key = secrets.token_urlsafe(_KEY_BYTES)
        path.unlink(missing_ok=True)
        handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        with os.fdopen(handle, "w", encoding="ascii") as file:
            file.write(f"{key}\n")
    except OSError as err:
        raise InputError(f"{path}: cannot be kept: {err.strerror or err}") from None
    return key


def _same(given: str, right: str) -> bool:
    """Whether two secrets are equal, compared in constant time."""
    return hmac.compare_digest(given.encode("utf-8", "replace"), right.encode())
