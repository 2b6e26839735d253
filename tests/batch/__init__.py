"""Many tickets at once. All tickets, shops and places (XA-01) are invented."""
