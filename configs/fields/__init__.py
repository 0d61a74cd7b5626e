"""The fields that come with the program."""
