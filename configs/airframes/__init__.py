"""The airframes that come with the program."""
