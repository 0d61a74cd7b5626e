"""Pages of curves, one file a study."""
