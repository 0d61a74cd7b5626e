"""Pages, drawings and reports, to be printed or looked at."""
