"""Answers kept for the very objects they were worked out for."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache, wraps
from typing import TypeVar

Answer = TypeVar("Answer")


class _Same:
    """Equal only to another of the same objects; holds them, so that no identity is used twice."""

    __slots__ = ("objects",)

    def __init__(self, objects: tuple[object, ...]) -> None:
        self.objects = objects

    def __hash__(self) -> int:
        return hash(tuple(id(one) for one in self.objects))

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Same) and all(
            one is another for one, another in zip(self.objects, other.objects, strict=True)
        )


def once_for(size: int) -> Callable[[Callable[..., Answer]], Callable[..., Answer]]:
    """Decorates a pure function of descriptions or models, which nobody changes once made: its
    answers for the last `size` sets of arguments are kept, told apart by identity."""

    def decorate(function: Callable[..., Answer]) -> Callable[..., Answer]:
        kept = lru_cache(maxsize=size)(lambda same: function(*same.objects))

        @wraps(function)
        def asked(*objects: object) -> Answer:
            return kept(_Same(objects))

        return asked

    return decorate
