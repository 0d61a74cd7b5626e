"""A person's hands: three exercises that show them, and what is measured of them."""
