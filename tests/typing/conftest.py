"""The two programs are read by type checkers, never run."""

collect_ignore = ["right.py", "wrong.py"]
