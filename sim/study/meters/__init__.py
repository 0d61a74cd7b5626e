"""What a builder's meters say of the drive: what may be wrong with it, and how likely each is."""
