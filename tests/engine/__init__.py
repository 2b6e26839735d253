"""The engine as its users see it: held against the specification in `tests/reference`, by its public face alone."""
