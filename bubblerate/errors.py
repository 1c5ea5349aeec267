"""What can go wrong with what a person typed or keeps; each message is ready to be shown."""

__all__ = ["BubbleRateError", "ConfigError", "DiaryError", "InputError"]


class BubbleRateError(Exception):
    """Base of every error a user can mend: one line that says where, what, and what would do."""


class InputError(BubbleRateError):
    """Something typed that cannot be understood."""


class DiaryError(BubbleRateError):
    """A diary that cannot be read or written."""


class ConfigError(BubbleRateError):
    """A `bubblerate.toml` that cannot be used."""
