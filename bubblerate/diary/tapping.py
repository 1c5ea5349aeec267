"""Counts bubbles by key presses, and tells how sure the rate is so far.

The clock starts at "go", every press after that counts, and it stops when the person ends. "Go"
does not depend on a bubble, so bubbles over time is unbiased whether they come evenly or not. The
likelihood of a count in a time is the same whatever made the person stop, so ending on a bubble
needs no correction. Times are seconds of a clock that never goes back; rates are bubbles a minute.
"""

import math
from dataclasses import dataclass, replace

from ..text import format_rate, format_rates

__all__ = ["DROP", "Tapping", "after", "enough", "per_min_80", "tapping_text"]

DROP = "\x03"  # what ctrl-c sends
_PRESS = " "
_BACK = frozenset("\x7f\b")
_END = frozenset("qQ\r\n")

# A rate known to 10 % is good enough, since evenings scatter by 16 to 19 %. Bubbles more even than
# chance would get there sooner, but the fit treats the row as chance, and so must this.
ENOUGH_BUBBLES = 100  # Poisson: 1 / sqrt(100) is 10 %
ENOUGH_SECONDS = 300.0

_Z_80 = 1.2815515655446004  # 10 % of a normal are above it


@dataclass(frozen=True, slots=True, kw_only=True)
class Tapping:
    """A count in progress: when it started, what was pressed, and whether it is over."""

    began_s: float
    bubbles: int = 0
    ended_s: float | None = None
    dropped: bool = False

    @property
    def over(self) -> bool:
        """Whether further keys no longer change it."""
        return self.dropped or self.ended_s is not None

    def seconds(self, at_s: float) -> float:
        """Length of the count so far, or in total once it has ended [s]."""
        return max(0.0, (at_s if self.ended_s is None else self.ended_s) - self.began_s)


def after(tapping: Tapping, key: str, at_s: float) -> Tapping:
    """Give the count after one key; an unknown key changes nothing.

    Parameters
    ----------
    tapping : Tapping
    key : str
        Space is a bubble, backspace takes the last one back, q or Enter ends, `DROP` gives up.
    at_s : float
        When it was pressed [s].

    Returns
    -------
    Tapping

    Examples
    --------
    >>> count = Tapping(began_s=0.0)
    >>> for at_s, key in enumerate("   q", start=1):
    ...     count = after(count, key, at_s)
    >>> count.bubbles, count.seconds(99.0)
    (3, 4.0)
    """
    if tapping.over:
        return tapping
    if key == _PRESS:
        return replace(tapping, bubbles=tapping.bubbles + 1)
    if key in _BACK:
        return replace(tapping, bubbles=max(0, tapping.bubbles - 1))
    if key in _END:
        return replace(tapping, ended_s=at_s)
    return replace(tapping, dropped=True) if key == DROP else tapping


def enough(tapping: Tapping, at_s: float) -> bool:
    """Whether the rate is known to about 10 %, or five minutes have passed."""
    return tapping.bubbles >= ENOUGH_BUBBLES or tapping.seconds(at_s) >= ENOUGH_SECONDS


def per_min_80(bubbles: int, seconds: float) -> tuple[float, float]:
    """Work out the 80 % interval of the rate, valid even with no bubbles.

    Parameters
    ----------
    bubbles : int
        Bubbles counted.
    seconds : float
        Time of counting [s], above 0.

    Returns
    -------
    low, high : float
        Limits [bubbles/min].

    Notes
    -----
    Garwood's limits of a Poisson mean, half the quantiles of chi-square with 2n and 2n + 2 degrees
    of freedom, each by the cube of Wilson and Hilferty [1]_: no scipy is loaded while counting.

    References
    ----------
    .. [1] E. B. Wilson and M. M. Hilferty, Proc. Natl. Acad. Sci. 17 (1931) 684 (from memory).
    """
    low = _half_chi_square(bubbles, -_Z_80) if bubbles else 0.0
    return 60.0 * low / seconds, 60.0 * _half_chi_square(bubbles + 1, _Z_80) / seconds


def tapping_text(tapping: Tapping, at_s: float, *, width: int) -> str:
    """Give count, time, rate and its range on one line, as many of these as fit.

    Parameters
    ----------
    tapping : Tapping
    at_s : float
        Now [s].
    width : int
        Characters that fit on the line.

    Returns
    -------
    str
        Such as "12 in 1:30   8.0 a minute   80 %: 5.3 to 12".
    """
    seconds = tapping.seconds(at_s)
    parts = [f"{tapping.bubbles} in {int(seconds) // 60}:{int(seconds) % 60:02}"]
    if seconds >= 1.0:
        parts.append(format_rate(60.0 * tapping.bubbles / seconds))
        parts.append(format_rates(*per_min_80(tapping.bubbles, seconds)))
    last = ["enough, press q"] if enough(tapping, at_s) else []
    for kept in range(len(parts), 0, -1):
        line = "   ".join(parts[:kept] + last)
        if len(line) <= width:
            return line
    return parts[0][:width]


def _half_chi_square(shape: int, z: float) -> float:
    """Quantile of a gamma variable of this shape and scale 1."""
    return float(shape * (1.0 - 1.0 / (9.0 * shape) + z / (3.0 * math.sqrt(shape))) ** 3)
