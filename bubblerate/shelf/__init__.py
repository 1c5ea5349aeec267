"""Many jars at once: judged, put in order of need, looked at in hindsight, spread over machines.

It asks the rooms below of one jar after another, and never the other way round.
"""
