"""Counts bubbles in sound recordings of an airlock."""
