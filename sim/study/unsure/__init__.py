"""What is not known, and what it does: to the margin, to the balance, to launches."""
