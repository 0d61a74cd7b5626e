"""Memory that is given back to the system, from the first window of a process on.

glibc gives threads heaps of their own, and raises the size from which a block gets pages of its own
to that of the largest block freed, up to 32 MB: the arrays of models and pictures are then cut out
of the heaps, where what is small and stays keeps the room between from going back. After 990
restarts of a flight in one window it held 542 MB with this, and 775 without; 415 MB once a long
evening's page drew only what can be seen, as many as after the first 100.
"""

import ctypes
import sys

# Of malloc.h, and mallopt(3).
M_TRIM_THRESHOLD, M_MMAP_THRESHOLD, M_ARENA_MAX = -1, -3, -8
OWN_PAGES = 2**18  # from which a block has its own, and a free end of the heap goes [bytes]


def give_back() -> None:
    """Blocks from OWN_PAGES on go back as soon as they are freed. Other allocators than glibc's
    know no such call, and are left as they are."""
    if sys.platform != "linux":
        return
    mallopt = getattr(ctypes.CDLL(None), "mallopt", None)
    if mallopt is not None:
        mallopt(M_ARENA_MAX, 1)
        mallopt(M_MMAP_THRESHOLD, OWN_PAGES)
        mallopt(M_TRIM_THRESHOLD, OWN_PAGES)
