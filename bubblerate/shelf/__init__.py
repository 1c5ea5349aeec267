"""Many jars at once: judged, put in order of need, looked at in hindsight, spread over machines."""
