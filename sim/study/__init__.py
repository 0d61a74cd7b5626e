"""The questions a builder asks before the flight; one file a question."""
