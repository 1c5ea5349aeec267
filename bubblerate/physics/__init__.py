"""Water, gas, spirit and glass: what handbooks know, with units and sources.

Numbers in, numbers out; nothing here knows of jars, diaries or verdicts. Public: import any of it.
"""
