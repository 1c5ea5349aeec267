"""Pictures: functions that draw on axes and return them, and one page style for all."""
