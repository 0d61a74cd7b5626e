"""What the builder wrote: read, checked, in SI, frozen; and written back as they write it."""
