"""What can go wrong with what a person typed or keeps; each message is ready to be shown."""

from collections.abc import Sequence

__all__ = ["BubbleRateError", "ConfigError", "DiaryError", "FaultsError", "InputError"]

_MOST_SHOWN = 20


class BubbleRateError(Exception):
    """Base of every error a user can fix: one line that says where, what, and what would do.

    Examples
    --------
    >>> import bubblerate
    >>> try:
    ...     bubblerate.read("no.csv")
    ... except bubblerate.BubbleRateError as err:
    ...     print(err)
    no.csv: there is no such diary; check the name
    """


class InputError(BubbleRateError):
    """Something typed that cannot be understood.

    Examples
    --------
    >>> issubclass(InputError, BubbleRateError)
    True
    """


class FaultsError(InputError):
    """All that is wrong with one file; as text the first fault, and how many more there are.

    Parameters
    ----------
    faults : sequence of str
        At least one, each a line of its own.
    """

    def __init__(self, faults: Sequence[str]) -> None:
        self.faults = tuple(faults)
        more = len(self.faults) - 1
        also = "1 more fault" if more == 1 else f"{more} more faults"
        super().__init__(f"{self.faults[0]} ({also} in this file)" if more else self.faults[0])

    @property
    def lines(self) -> list[str]:
        """Each fault on its line, as many as a screen holds, and how many more."""
        shown, more = [*self.faults[:_MOST_SHOWN]], len(self.faults) - _MOST_SHOWN
        return [*shown, f"and {more} more like these"] if more > 0 else shown


class DiaryError(BubbleRateError):
    """A diary that cannot be read or written.

    Examples
    --------
    >>> issubclass(DiaryError, BubbleRateError)
    True
    """


class ConfigError(BubbleRateError):
    """A `bubblerate.toml` that cannot be used.

    Examples
    --------
    >>> issubclass(ConfigError, BubbleRateError)
    True
    """
