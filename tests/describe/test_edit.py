"""A described airframe with one value changed: the value there, all else the very same."""

from __future__ import annotations

import pytest
from bodies import shipped

from firstthrow.sim.describe.edit import get, put
from firstthrow.sim.describe.field import STANDARD


@pytest.mark.parametrize(
    "path",
    [
        ("mixing", "reflex"),
        ("mixing", "high", "pitch"),
        ("items", "pack", "aft"),
        ("sheets", "slab", "surfaces", "elevon", "mass"),
        ("launch", "hand", "speed"),
    ],
)
def test_one_value_is_changed_and_the_rest_is_shared(path):
    airframe = shipped("pantry")
    before = get(airframe, path)
    changed = put(airframe, path, 0.123)
    assert get(changed, path) == 0.123
    assert get(airframe, path) == before
    for depth in range(len(path)):
        was, is_ = get(airframe, path[:depth]), get(changed, path[:depth])
        entries = list(was) if isinstance(was, dict) else list(type(was).model_fields)
        assert list(is_ if isinstance(is_, dict) else type(is_).model_fields) == entries
        for entry in entries:
            if entry != path[depth]:
                assert get(is_, (entry,)) is get(was, (entry,)), entry


def test_an_entry_can_be_added_and_a_wrong_path_is_none():
    airframe = shipped("pantry")
    pack = airframe.items["pack"]
    assert put(airframe, ("items", "spare"), pack).items == {**airframe.items, "spare": pack}
    assert get(STANDARD, ("gusts", "pulse", "speed")) is None  # beyond what is not there
    with pytest.raises(KeyError):
        get(airframe, ("items", "nothing", "aft"))
    with pytest.raises(AttributeError):
        put(airframe, ("mixing", "nothing", "aft"), 1.0)
