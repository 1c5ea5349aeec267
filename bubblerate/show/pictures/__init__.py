"""The pictures: functions that draw on axes and return them, with one common look.

Only this folder loads the drawing library; its settings are restored after each picture.
"""
