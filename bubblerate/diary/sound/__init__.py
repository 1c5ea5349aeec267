"""Recordings of an airlock: samples, pulses, and which of them are bubbles."""
