"""The window itself, what goes along with the airframe in it, and films of it."""
