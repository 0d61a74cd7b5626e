"""All that a person sees and touches."""
