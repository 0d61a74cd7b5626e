"""The hands that come with the program."""
