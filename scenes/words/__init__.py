"""What is said while it flies: instruments, cards, panels, sound."""
