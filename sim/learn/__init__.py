"""After the flight: what happened, why, and what to change."""
