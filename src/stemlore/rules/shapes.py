"""Shapes: the forms that most local law takes, so that a pack can be TOML alone.

A shape names a field and a limit and gives the condition; the limit is a
parameter's name. The closed grammar of ``when`` is read here too.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from stemlore.errors import RuleError, near_misses
from stemlore.rules._combine import truth
from stemlore.rules.build import all_of, any_of, field, parameter, same, years_since
from stemlore.rules.nodes import Field, Node

__all__ = ["SHAPES", "condition_from", "shape_named"]


def _measured(path: str) -> Node:
    """Return a field as it is compared: a date as the years since it."""
    node = field(path)
    return years_since(node) if node.kind == "date" else node


def _limit(limit: Any) -> Node:
    if not isinstance(limit, str):
        raise RuleError("'limit' must be the name of a parameter", advice='such as limit = "tread.min_depth"')
    return parameter(limit)


def at_least(path: str, limit: Any) -> Node:
    """The field is not below the limit."""
    return _measured(path) >= _limit(limit)


def at_most(path: str, limit: Any) -> Node:
    """The field is not above the limit."""
    return _measured(path) <= _limit(limit)


def above(path: str, limit: Any) -> Node:
    """The field is above the limit."""
    return _measured(path) > _limit(limit)


def below(path: str, limit: Any) -> Node:
    """The field is below the limit."""
    return _measured(path) < _limit(limit)


def between(path: str, limit: Any) -> Node:
    """The field lies between two limits, both allowed."""
    if not isinstance(limit, (list, tuple)) or len(limit) != 2:
        raise RuleError("shape 'between' needs two parameters", advice='limit = ["lowest", "highest"]')
    return _measured(path).within(_limit(limit[0]), _limit(limit[1]))


def equals(path: str, limit: Any) -> Node:
    """The field is the limit."""
    return field(path).equals(_limit(limit))


def one_of(path: str, limit: Any) -> Node:
    """The field is one of these words or numbers."""
    if not isinstance(limit, (list, tuple)):
        raise RuleError("shape 'one_of' needs a list", advice='limit = ["radial", "diagonal"]')
    return field(path).one_of(*limit)


def forbidden(path: str, limit: Any) -> Node:
    """The field is none of these; without a limit, a flag that must not be set."""
    if limit is None:
        return ~field(path)
    options = limit if isinstance(limit, (list, tuple)) else [limit]
    return ~field(path).one_of(*options)


def required(path: str, limit: Any) -> Node:
    """The flag is set; with a list, the field is one of these."""
    return field(path) if limit is None else one_of(path, limit)


def required_from(path: str, limit: Any) -> Node:
    """Where the parameter (by its dates) demands it, the flag is set or the field is not 'none'."""
    node = field(path)
    has = node if node.kind == "flag" else ~node.equals("none")
    return any_of(~_limit(limit), has)


def required_in_season(path: str, limit: Any) -> Node:
    """In the season the flag is set."""
    return any_of(~_limit(limit), field(path))


def same_across(path: str, limit: Any) -> Node:
    """All wheels of the subject (pair, axle or vehicle) have the same value."""
    if limit is not None:
        raise RuleError("shape 'same_across' takes no limit")
    return same(field(path))


SHAPES: Mapping[str, Callable[[str, Any], Node]] = {
    "above": above,
    "at_least": at_least,
    "at_most": at_most,
    "below": below,
    "between": between,
    "equals": equals,
    "forbidden": forbidden,
    "one_of": one_of,
    "required": required,
    "required_from": required_from,
    "required_in_season": required_in_season,
    "same_across": same_across,
}


def shape_named(name: object) -> Callable[[str, Any], Node]:
    """Return the shape of this name, or say which are near."""
    if isinstance(name, str) and name in SHAPES:
        return SHAPES[name]
    near = near_misses(str(name), SHAPES)
    raise RuleError(
        f"unknown shape {name!r}", advice=f"did you mean {near[0]}?" if near else ", ".join(SHAPES)
    )


_TESTS: Mapping[str, Callable[[Node, Any], Node]] = {
    "at_least": lambda node, value: node >= value,
    "at_most": lambda node, value: node <= value,
    "above": lambda node, value: node > value,
    "below": lambda node, value: node < value,
    "is": lambda node, value: node.equals(value),
    "is_not": lambda node, value: node.differs(value),
    "one_of": lambda node, value: node.one_of(*value),
    "none_of": lambda node, value: ~node.one_of(*value),
}


def _test(path: str, test: Any) -> Node:
    if path.startswith("parameter:"):
        if not isinstance(test, bool):
            raise RuleError(f"{path} is tested by true or false, not {test!r}")
        node = parameter(path.removeprefix("parameter:"))
        return node if test else ~node
    node = field(path)
    if isinstance(test, bool):
        return truth(node) if test else ~node
    if isinstance(test, list):
        return node.one_of(*test)
    if isinstance(test, Mapping):
        measured = years_since(node) if isinstance(node, Field) and node.kind == "date" else node
        if not test:
            raise RuleError(f"{path} is tested by nothing", advice=", ".join(_TESTS))
        parts = []
        for name, value in test.items():
            if name not in _TESTS:
                near = near_misses(name, _TESTS)
                advice = f"did you mean {near[0]}?" if near else ", ".join(_TESTS)
                raise RuleError(f"unknown test {name!r} of {path}", advice=advice)
            if name in ("one_of", "none_of") and not isinstance(value, list):
                raise RuleError(f"{name} of {path} needs a list, not {value!r}")
            on_day = hasattr(value, "year")
            parts.append(_TESTS[name](node if on_day else measured, value))
        return all_of(*parts)
    return node.equals(test)


def condition_from(when: Mapping[str, Any] | None) -> Node | None:
    """Read a ``when`` table: every entry must hold.

    ``{ "vehicle.category" = ["M1"], "vehicle.gross_mass" = { at_most = "3.5 t" },
    "wheel.rim_pieces" = "single_piece", "vehicle.twin_wheels" = false,
    "parameter:xa.winter.season" = true }``
    """
    if when is not None and not isinstance(when, Mapping):
        raise RuleError(
            "'when' must be a table of fields and tests", advice='{ "vehicle.category" = ["M1"] }'
        )
    if not when:
        return None
    return all_of(*(_test(path, test) for path, test in when.items()))
