"""Memory that a window gives back; in a process of its own, since nothing takes it back again."""

import ctypes
import subprocess
import sys

import pytest

# Blocks that have pages of their own, `hblks` of mallinfo2(3): a large block is freed, then a
# smaller one asked for, as models are made and let go. Left alone, glibc cuts the smaller one out
# of its heap where that can grow, and from pages of its own where it cannot: not held here.
COUNT = """
import ctypes
from firstthrow.scenes.window.freed import give_back

class Told(ctypes.Structure):
    _fields_ = [(name, ctypes.c_size_t) for name in (
        "arena", "ordblks", "smblks", "hblks", "hblkhd",
        "usmblks", "fsmblks", "uordblks", "fordblks", "keepcost")]

heap = ctypes.CDLL(None)
heap.mallinfo2.restype = Told
heap.malloc.restype, heap.malloc.argtypes = ctypes.c_void_p, [ctypes.c_size_t]
heap.free.argtypes = [ctypes.c_void_p]
give_back()
heap.free(heap.malloc(2**24))
before = heap.mallinfo2().hblks
block = heap.malloc(2**23)
print(heap.mallinfo2().hblks - before)
heap.free(block)
"""


TELLS = sys.platform == "linux" and hasattr(ctypes.CDLL(None), "mallinfo2")


@pytest.mark.skipif(not TELLS, reason="glibc 2.33 and later tell of their heap, others do not")
def test_what_is_large_goes_back_when_it_is_freed():
    told = subprocess.run([sys.executable, "-c", COUNT], capture_output=True, text=True, check=True)
    assert told.stdout == "1\n"
