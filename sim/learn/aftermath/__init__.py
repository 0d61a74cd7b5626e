"""What a flight that has just ended leaves to look at: forces, sentences, the cure, an evening."""
