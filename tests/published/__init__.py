"""Published figures and handbook arithmetic, each with its source beside it."""
