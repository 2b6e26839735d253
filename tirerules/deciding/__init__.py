"""Deciding a case: pure functions from rules and a case to a decision; no JSON, files, clocks or terminals here."""
