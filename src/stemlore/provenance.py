"""Where a value comes from, how far to trust it, and how it is fingerprinted.

Belongs here: sources, citations, grades, canonical JSON. Does not: dated
parameters (they need units; see :mod:`stemlore.rules`).
"""

from __future__ import annotations

import hashlib
import math
from collections.abc import Mapping, Sequence
from datetime import date
from enum import StrEnum
from typing import Any

import attrs

__all__ = ["Citation", "Grade", "Source", "canonical_json", "fingerprint_of"]


class Grade(StrEnum):
    """How a value was seen, strongest first."""

    READ = "read"
    REPRODUCTION = "reproduction"
    SECONDARY = "secondary"
    PRACTICE = "practice"
    MEMORY = "memory"

    @property
    def strength(self) -> int:
        """5 for text that was read, down to 1 for memory."""
        return 5 - list(Grade).index(self)

    @property
    def needs_source(self) -> bool:
        """Whether a value of this grade must name its source."""
        return self not in (Grade.PRACTICE, Grade.MEMORY)

    @property
    def meaning(self) -> str:
        """What the grade says, for print."""
        return _MEANINGS[self]


_MEANINGS = {
    Grade.READ: "text read",
    Grade.REPRODUCTION: "wording read in a reproduction",
    Grade.SECONDARY: "told by a secondary source",
    Grade.PRACTICE: "common practice, no source",
    Grade.MEMORY: "from memory, unverified",
}


@attrs.frozen(kw_only=True)
class Source:
    """A law, standard or publication.

    Attributes
    ----------
    id : str
        Key within its pack or table package.
    title, issuer : str
        As the publication names itself and who issues it.
    number, edition : str
        Number and the edition or state that was read.
    url : str
        The issuer's own page; empty where there is none.
    read_on : date or None
        Day on which the text was read.
    language : str
        ISO 639 code of the text.
    grade : Grade
        How the text was seen.
    """

    id: str
    title: str
    issuer: str
    grade: Grade
    number: str = ""
    edition: str = ""
    url: str = ""
    read_on: date | None = None
    language: str = "en"

    def __str__(self) -> str:
        name = self.number or self.title
        return f"{self.issuer}, {name}" if self.issuer and self.issuer not in name else name


@attrs.frozen
class Citation:
    """One place in one source, with the grade of what was seen there."""

    source: Source | None
    at: str
    grade: Grade

    def __str__(self) -> str:
        if self.source is None:
            return f"{self.at} [{self.grade.meaning}]" if self.at else f"[{self.grade.meaning}]"
        place = f"{self.source}, {self.at}" if self.at else str(self.source)
        return f"{place} [{self.grade.meaning}]"


def _number(value: float) -> str:
    """Write a float as ECMAScript does, as RFC 8785 asks."""
    if not math.isfinite(value):
        raise ValueError(f"{value} has no JSON form")
    if value == 0:
        return "0"
    sign = "-" if value < 0 else ""
    mantissa, _, exponent_text = f"{abs(value)!r}".partition("e")
    whole, _, fraction = mantissa.partition(".")
    exponent = int(exponent_text or 0)
    if fraction == "0":
        fraction = ""
    digits = (whole + fraction).lstrip("0")
    # the value is 0.DIGITS times ten to the power of `point`
    point = len(whole) + exponent - (len(whole + fraction) - len(digits))
    digits = digits.rstrip("0")
    count = len(digits)
    if count <= point <= 21:
        return sign + digits + "0" * (point - count)
    if 0 < point <= 21:
        return f"{sign}{digits[:point]}.{digits[point:]}"
    if -6 < point <= 0:
        return f"{sign}0.{'0' * -point}{digits}"
    power = point - 1
    head = digits[0] + (f".{digits[1:]}" if count > 1 else "")
    return f"{sign}{head}e{'+' if power > 0 else '-'}{abs(power)}"


_ESCAPES = {'"': '\\"', "\\": "\\\\", "\b": "\\b", "\f": "\\f", "\n": "\\n", "\r": "\\r", "\t": "\\t"}


def _text(value: str) -> str:
    out = [_ESCAPES.get(char) or (f"\\u{ord(char):04x}" if ord(char) < 0x20 else char) for char in value]
    return f'"{"".join(out)}"'


def _write(value: Any, out: list[str]) -> None:
    if value is None or value is True or value is False:
        out.append({None: "null", True: "true", False: "false"}[value])
    elif isinstance(value, str):
        out.append(_text(str(value)))
    elif isinstance(value, int):
        # JSON numbers are doubles in RFC 8785; greater integers would lose digits unseen
        out.append(str(value) if abs(value) < 2**53 else _number(float(value)))
    elif isinstance(value, float):
        out.append(_number(value))
    elif isinstance(value, date):
        out.append(_text(value.isoformat()))
    elif isinstance(value, Mapping):
        out.append("{")
        keys = sorted(value, key=lambda key: str(key).encode("utf-16-be"))
        for index, key in enumerate(keys):
            out.append("," if index else "")
            out.append(_text(str(key)) + ":")
            _write(value[key], out)
        out.append("}")
    elif isinstance(value, Sequence):
        out.append("[")
        for index, item in enumerate(value):
            out.append("," if index else "")
            _write(item, out)
        out.append("]")
    else:
        raise TypeError(f"{type(value).__name__} has no JSON form")


def canonical_json(value: Any) -> bytes:
    """Write plain values as canonical JSON.

    Parameters
    ----------
    value : mapping, sequence, str, int, float, bool, date or None
        What to write.

    Returns
    -------
    bytes
        UTF-8 text, keys sorted by UTF-16 code units, numbers as ECMAScript.

    References
    ----------
    RFC 8785, JSON Canonicalization Scheme.
    """
    out: list[str] = []
    _write(value, out)
    return "".join(out).encode("utf-8")


def fingerprint_of(value: Any) -> str:
    """Return the SHA-256 of the canonical JSON of ``value`` in hexadecimal."""
    return hashlib.sha256(canonical_json(value)).hexdigest()
