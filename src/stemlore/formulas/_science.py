"""The doors to NumPy and SciPy, opened only when a procedure or an array needs them."""

from __future__ import annotations

from importlib import import_module
from typing import Any

from stemlore.errors import MissingExtraError

__all__ = ["numpy", "optimize", "special"]


def numpy(what: str) -> Any:
    """Return NumPy, or say that the extra is missing."""
    return _module("numpy", what)


def optimize(what: str) -> Any:
    """Return SciPy's optimisers, or say that the extra is missing."""
    return _module("scipy.optimize", what)


def special(what: str) -> Any:
    """Return SciPy's special functions, or say that the extra is missing."""
    return _module("scipy.special", what)


def _module(name: str, what: str) -> Any:
    try:
        return import_module(name)
    except ImportError as error:
        raise MissingExtraError(what, extra="science") from error
