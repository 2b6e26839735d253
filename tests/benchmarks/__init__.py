"""Benchmarks: how fast decisions are, beside general-purpose engines given the same rules. See `__main__`."""
