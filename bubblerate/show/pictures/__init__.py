"""Pictures: functions that draw on axes and give them back, and one page for all of them.

Only this room loads the drawing library; its settings are put back when a picture is done.
"""
