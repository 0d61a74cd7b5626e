"""Where a function of one number crosses nothing, between two places on either side of it.

Regula falsi in the Illinois form: Dowell and Jarratt, BIT 11, 1971. It keeps the crossing
bracketed, so that corners and steps slow it down but do not lead it astray. The optimisers of a
large library do the same but take longer to load than a study takes.
"""

from firstthrow.sim.kernels.compiled import woven

SEARCH = 200  # steps at most


@woven
def root(function, what, low, high, first, last, close, small):
    """The place of a bracket from low to high at which `function(x, what)` is nothing.

    first, last: its values at the two, of different signs. Ends with the bracket no wider than
    `close`, or the value no larger than `small`; what the function was last asked is the answer.
    """
    x = high
    for _ in range(SEARCH):
        x = (low * last - high * first) / (last - first)
        found = function(x, what)
        if abs(found) <= small or abs(high - low) <= close:
            break
        if found * last < 0.0:
            low, first = high, last
        else:
            first *= 0.5
        high, last = x, found
    return x


def crossing(function, low: float, high: float, close: float) -> float:
    """The same for a plain function of x. Raises ValueError where both ends have one sign."""
    first, last = function(low), function(high)
    if first == 0.0 or last == 0.0:
        return low if first == 0.0 else high
    if first * last > 0.0:
        raise ValueError(f"it does not cross nothing between {low:g} and {high:g}")
    plain = getattr(root, "py_func", root)
    return float(plain(lambda x, _: function(x), None, low, high, first, last, close, 0.0))
