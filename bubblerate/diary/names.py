"""Checks the name of a vessel: it must work as a file name everywhere, and look like no other.

A diary that already exists is read under the name it has.
"""

import re

__all__ = ["look", "why_no_name"]

_PLAIN = re.compile(r"[^\W_](?:[\w .'-]{0,78}[\w'-])?")
_MOST_BYTES = 240  # a file name may have 255, and files beside it need some
# Names of devices on some systems, whatever follows a dot (from memory).
_DEVICE = re.compile(r"(?:con|prn|aux|nul|com[0-9¹²³]|lpt[0-9¹²³])(?: *\..*)?", re.IGNORECASE)

# Letters of other scripts that look like Latin ones; common ones, from memory. First Cyrillic, then
# Greek, capitals before small letters.
_ALIKE = str.maketrans(
    "\u0410\u0412\u0415\u0405\u0406\u0408\u041a\u041c\u041d\u041e\u0420\u0421\u0422\u0423\u0425"
    "\u0430\u0435\u0455\u0456\u0458\u043e\u0440\u0441\u0443\u0445\u0501\u04bb\u051b\u051d\u04cf"
    "\u0391\u0392\u0395\u0396\u0397\u0399\u039a\u039c\u039d\u039f\u03a1\u03a4\u03a5\u03a7"
    "\u03b1\u03b9\u03ba\u03bd\u03bf\u03c1\u03c5\u03c7\u0131\u0251\u0261",
    "ABESIJKMHOPCTYX"  # of Cyrillic
    "aesijopcyxdhqwl"
    "ABEZHIKMNOPTYX"  # of Greek
    "aikvopuxiag",
)


def why_no_name(name: str) -> str:
    """Say why a new diary cannot have this name, and what would do; empty if it can.

    Parameters
    ----------
    name : str
        Name of a vessel.

    Returns
    -------
    str

    Examples
    --------
    >>> why_no_name("old fig 2"), why_no_name("nul")
    ('', 'nul is the name of a device on some systems; choose another name')
    """
    if not _PLAIN.fullmatch(name) or len(name.encode()) > _MOST_BYTES:
        return (
            "a jar's name has up to 80 letters, digits, spaces and - _ . ', and starts with a "
            f"letter or digit; got {name[:40]!r}"
        )
    if _DEVICE.fullmatch(name):
        return f"{name} is the name of a device on some systems; choose another name"
    return ""


def look(name: str) -> str:
    r"""Give what a name looks like: names with the same look are hard to tell apart.

    Examples
    --------
    >>> look("Qu\u0456nce") == look("quince"), look("poire") == look("poir\u00e9")
    (True, False)
    """
    from unicodedata import normalize  # only a new diary needs it

    return normalize("NFKC", normalize("NFKC", name).translate(_ALIKE).casefold())
