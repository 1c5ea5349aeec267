"""Many jars at once: the shelf in order of need, the cellar, backtests, and tables for machines.

It calls the folders below for one jar after another; they never call it.
"""
