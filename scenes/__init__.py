"""All that a person sees and touches."""

import os

# asking after every call whether it went wrong takes a tenth of a frame; tests do ask
os.environ.setdefault("PYGLET_DEBUG_GL", "0")
