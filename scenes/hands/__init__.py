"""What a person holds: keyboard, gamepad, transmitter, and what each stick and key does."""
