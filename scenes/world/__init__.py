"""What there is to see: the meadow, the airframe, light, and where the eye is."""
