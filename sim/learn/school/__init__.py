"""Flying lessons: what each asks for over the field, and how near a flight came to it."""
