"""A description back from its SI values, as a sidecar keeps them; the way there is `model_dump`.

The builder's quantities are read by `config`; here are plain numbers that were checked when the
flight was started.
"""

from __future__ import annotations

from typing import Any, TypeVar

from pydantic import BaseModel

from firstthrow.sim.describe.keys import mapped, model_of, words_of

Model = TypeVar("Model", bound=BaseModel)


def restored(model: type[Model], tree: dict[str, Any]) -> Model:
    """The description whose `model_dump(mode="json")` is `tree`.

    Keys that the tree has not take their defaults, keys that the description has not are passed
    over: records of other versions can be read. Raises TypeError for what is no tree,
    ValueError for a word that the description does not know.
    """
    if not isinstance(tree, dict):
        raise TypeError(f"{model.__name__}: wanted a table of values")
    values = {
        name: _value(info.annotation, tree[name])
        for name, info in model.model_fields.items()
        if name in tree
    }
    return model.model_construct(**values)


def _value(annotation: Any, value: Any) -> Any:
    inner, entries, words = model_of(annotation), mapped(annotation), words_of(annotation)
    if value is None:
        return None
    if inner is not None:
        return restored(inner, value)
    if entries is not None:
        return {name: _value(entries, entry) for name, entry in value.items()}
    if words is not None:
        return words(value)
    return _plain(value)


def _plain(value: Any) -> Any:
    """Lists, which JSON has, as the tuples that descriptions hold."""
    return tuple(_plain(v) for v in value) if isinstance(value, list) else value
