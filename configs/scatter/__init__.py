"""The scatter files that come with the program."""
