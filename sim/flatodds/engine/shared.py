"""What the plans of one study have in common is worked out once.

A study makes many plans for few places. Tables are kept by what they are made from, so that
plans of the same place also hold the very same objects, which makes them quick to compare.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable
from typing import Any, ParamSpec, TypeVar

P = ParamSpec("P")
T = TypeVar("T")


class Shared:
    """Results of functions without side effects, kept as long as a study lasts."""

    def __init__(self) -> None:
        self._kept: dict[Hashable, tuple[Any, Any]] = {}

    def once(self, make: Callable[P, T], *args: P.args, **named: P.kwargs) -> T:
        """Give what `make` gives for these arguments, made at most once.

        Arguments that cannot be hashed (tables) count as the same if they are one object;
        they must not be changed afterwards.
        """
        others = [arg for arg in args if arg is not self]  # holding itself, it would not end
        key = (make, tuple(map(_key, others)), tuple((k, _key(v)) for k, v in named.items()))
        if key not in self._kept:
            self._kept[key] = (make(*args, **named), (others, named))  # arguments stay alive
        found: T = self._kept[key][0]
        return found


def _key(value: object) -> Hashable:
    """Value itself where it has a hash, else its identity."""
    try:
        hash(value)
    except TypeError:
        return ("object", id(value))
    return value
