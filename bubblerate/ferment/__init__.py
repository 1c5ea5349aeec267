"""The forecast: how a ferment slows, fitted to the counts and gravity of one jar.

Sums only. Nothing here is worded for a person or says what to do.
"""
