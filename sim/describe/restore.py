"""A description back from its SI values, as a sidecar keeps them; the way there is `model_dump`.

The builder's quantities are read by `config`; here are plain numbers that were checked when the
flight was started.
"""

from __future__ import annotations

from typing import Any, TypeVar

from pydantic import BaseModel

from firstthrow.sim.describe.schema import mapped, model_of

Model = TypeVar("Model", bound=BaseModel)


def restored(model: type[Model], tree: dict[str, Any]) -> Model:
    """The description whose `model_dump(mode="json")` is `tree`.

    Keys that the tree has not take their defaults, keys that the description has not are passed
    over: records of other versions can be read. Raises TypeError for what is no tree.
    """
    if not isinstance(tree, dict):
        raise TypeError(f"{model.__name__}: wanted a table of values")
    values = {
        name: _value(field.annotation, tree[name])
        for name, field in model.model_fields.items()
        if name in tree
    }
    return model.model_construct(**values)


def _value(kind: Any, value: Any) -> Any:
    inner, entries = model_of(kind), mapped(kind)
    if value is None:
        return None
    if inner is not None:
        return restored(inner, value)
    if entries is not None:
        return {name: _value(entries, entry) for name, entry in value.items()}
    return _plain(value)


def _plain(value: Any) -> Any:
    """Lists, which JSON has, as the tuples that descriptions hold."""
    return tuple(_plain(v) for v in value) if isinstance(value, list) else value
