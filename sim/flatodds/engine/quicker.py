"""Spare the compiler work that it repeats; for the processes that do nothing but compile.

Two habits of numba 0.68 take a quarter of the time of compiling our kernels (profiled):
it compares whole tables of settings, option by option, at every look into its own memory; and it
finds out anew, for every + and every s[i], what operator of what types that is. What is found is
the same, and so are the bits; a test compares. A numba that is built otherwise is left alone.
"""

from __future__ import annotations

import operator
from typing import Any


def quicken() -> None:
    """Change this process's compiler; call it before anything is compiled."""
    try:
        from numba.core import types
        from numba.core.targetconfig import TargetConfig
        from numba.core.types.functions import BaseFunction

        settings: Any = TargetConfig
        function: Any = BaseFunction
        known = (types.Number, types.Boolean, types.Array, types.BaseTuple)
        parts = (settings.values, settings().options, settings()._values, function.get_call_type)
    except (ImportError, AttributeError):
        return
    if all(part is not None for part in parts):
        _compare_what_is_set(settings)
        _remember_operators(function, known)


def _compare_what_is_set(settings: Any) -> None:
    """Compare settings by what was set to other than its default, not by every option."""

    def said(self: Any) -> frozenset[Any]:
        options = self.options
        return frozenset((k, v) for k, v in self._values.items() if v != options[k].default)

    def equal(self: Any, other: Any) -> Any:
        if self is other:
            return True
        if not isinstance(other, settings):
            return NotImplemented
        return self._values == other._values or said(self) == said(other)

    settings.__eq__ = equal
    settings.__hash__ = lambda self: hash(said(self))


def _remember_operators(function: Any, known: tuple[type, ...]) -> None:
    """Find out once what an operator is for arguments of these types: numbers and arrays."""
    operators = {one for one in vars(operator).values() if callable(one)}
    find = function.get_call_type
    memory: dict[Any, tuple[Any, Any]] = {}

    def found(self: Any, context: Any, args: Any, kws: Any) -> Any:
        plain = not kws and all(isinstance(one, known) for one in args)
        if not plain or not _among(operators, self.typing_key):
            return find(self, context, args, kws)
        at = (context, self.typing_key, *args)
        if at not in memory:
            signature = find(self, context, args, kws)
            memory[at] = (signature, self._impl_keys[signature.args])
        signature, what = memory[at]
        self._impl_keys[signature.args] = what
        return signature

    function.get_call_type = found


def _among(operators: set[Any], key: Any) -> bool:
    """Whether a key, which need not be hashable, is one of the operators."""
    try:
        return key in operators
    except TypeError:
        return False
