"""The sheets to carry to the bench and the field."""
