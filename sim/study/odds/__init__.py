"""How often a launch survives, over all that differs from launch to launch."""
