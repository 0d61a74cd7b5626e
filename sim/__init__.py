"""Flight physics and studies of flat-sheet airframes; nothing here opens a window."""

import os

# The matrices here are small: more threads in the linear algebra only wait for each other.
# Has to be said before numpy is first imported.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
