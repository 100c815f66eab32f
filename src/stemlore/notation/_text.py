"""Reading of short designations, one character after the other.

A :class:`Scanner` only moves forward, so reading takes time in proportion to
the text. It widens spelling (case, spaces, wide characters), never meaning:
superscript or circled figures, whose place in a number is unclear, stop it.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import TypeVar

from stemlore.errors import NotationError, RecordError

__all__ = ["LONGEST", "Scanner", "read_designation"]

LONGEST = 80
"""Most characters that a designation may have."""

_Value = TypeVar("_Value")

_SAME = dict.fromkeys("\u2010\u2011\u2012\u2013\u2014\u2212", "-") | {
    "\u00d7": "X",  # multiplication sign
    "\u2044": "/",  # fraction slash
    "\u2215": "/",  # division slash
    "\u00ba": "\u00b0",  # ordinal mark, for the degree sign
}
_TRIANGLES = dict.fromkeys(
    "\u0394\u2206\u22b2\u22b3\u25b2\u25b3\u25b5\u25b6\u25b7\u25ba\u25c0\u25c1\u25c4", "\u25c1"
)
_SPACES = {code: " " for code in range(128) if chr(code).isspace()}
_PLAIN_FORMS = ("<wide>", "<narrow>", "<noBreak>")

# Cyrillic and Greek letters that look Latin: only ever used for a suggestion.
_LOOK_ALIKE = str.maketrans(
    "АВЕКМНОРСТУХавекмнорстухΑΒΕΖΗΙΚΜΝΟΡΤΥΧ",
    "ABEKMHOPCTYXABEKMHOPCTYXABEZHIKMNOPTYX",
)


def _plain(char: str) -> str:
    """Return what a character stands for in upper-case ASCII, or itself."""
    if char.isspace():
        return " "
    if char in _SAME:
        return _SAME[char]
    if char in _TRIANGLES:
        return _TRIANGLES[char]
    form = unicodedata.decomposition(char)
    if form.startswith("<fraction>"):  # one half is " 1/2": 6 and a half never becomes 61/2
        return " " + unicodedata.normalize("NFKC", char).replace("\u2044", "/")
    if form.startswith(_PLAIN_FORMS):
        char = unicodedata.normalize("NFKC", char)
    return char.upper() if char.isascii() else char


class Scanner:
    """A place in a text, and the means to go on from there.

    Attributes
    ----------
    what : str
        The designation that is read, for messages.
    text : str
        The text as given.
    plain : str
        The same in upper case, wide characters made plain.
    at : int
        Index in ``plain`` of the next character.
    """

    __slots__ = ("_origin", "at", "plain", "text", "what")

    def __init__(self, what: str, text: str) -> None:
        self.what = what
        self.text = text
        self.at = 0
        self._origin: Sequence[int]
        if text.isascii():  # the same as below, for the common case
            self.plain = text.translate(_SPACES).upper()
            self._origin = range(len(text) + 1)
            return
        parts: list[str] = []
        origin: list[int] = []
        for index, char in enumerate(text):
            part = _plain(char)
            parts.append(part)
            origin.extend([index] * len(part))
        self.plain = "".join(parts)
        self._origin = [*origin, len(text)]

    def fail(self, why: str, at: int | None = None) -> NotationError:
        """Return the error that points at a character (the next one if not said)."""
        place = min(self.at if at is None else at, len(self.plain))
        return NotationError(self.what, self.text, self._origin[place], why)

    def skip(self) -> None:
        """Pass over spaces."""
        while self.plain[self.at : self.at + 1] == " ":
            self.at += 1

    @property
    def ended(self) -> bool:
        """Whether nothing is left."""
        return self.at >= len(self.plain)

    def peek(self) -> str:
        """Return the next character, or an empty text."""
        return self.plain[self.at : self.at + 1]

    def take(self, *marks: str) -> str:
        """Take the longest of the marks that stands here, or nothing."""
        best = ""
        for mark in marks:
            if len(mark) > len(best) and self.plain.startswith(mark, self.at):
                best = mark
        self.at += len(best)
        return best

    def run(self, belongs: Callable[[str], bool]) -> str:
        """Take the characters that belong, up to the first that does not."""
        start = self.at
        while self.at < len(self.plain) and belongs(self.plain[self.at]):
            self.at += 1
        return self.plain[start : self.at]

    def digits(self) -> str:
        """Take a run of figures 0 to 9."""
        return self.run(_is_digit)

    def letters(self) -> str:
        """Take a run of letters A to Z."""
        return self.run(_is_letter)

    def decimal(self) -> str:
        """Take a figure with an optional decimal point or comma; the point is written."""
        whole = self.digits()
        if not whole or self.peek() not in (".", ","):
            return whole
        mark = self.at
        self.at += 1
        rest = self.digits()
        if not rest:
            raise self.fail("a figure is missing after the decimal mark", mark + 1)
        return f"{whole}.{rest}"

    def match(self, pattern: re.Pattern[str]) -> re.Match[str] | None:
        """Take what a pattern of bounded length matches here."""
        found = pattern.match(self.plain, self.at)
        if found is not None:
            self.at = found.end()
        return found

    def finish(self, why: str) -> None:
        """Refuse whatever is left."""
        self.skip()
        if not self.ended:
            raise self.fail(why)


def _is_digit(char: str) -> bool:
    return "0" <= char <= "9"


def _is_letter(char: str) -> bool:
    return "A" <= char <= "Z"


def _attempts(plain: str, near: Callable[[str], Iterable[str]]) -> Iterator[str]:
    latin = plain.translate(_LOOK_ALIKE)
    if latin != plain:
        yield latin
    yield from near(latin)


def read_designation(
    what: str,
    text: object,
    read: Callable[[Scanner], _Value],
    near: Callable[[str], Iterable[str]] = lambda plain: (),
) -> _Value:
    """Read a whole text, or raise the error with the nearest form that can be read.

    Parameters
    ----------
    what : str
        The designation, for messages.
    text : object
        What was given; only text can be read.
    read : callable
        Reads from a scanner to the end.
    near : callable
        Gives spellings that were perhaps meant, from the plain text. They are
        tried for the suggestion only, never for the answer.
    """
    if not isinstance(text, str):
        raise NotationError(what, repr(text)[:LONGEST], 0, f"text is needed, not {type(text).__name__}")
    if len(text) > LONGEST:
        raise NotationError(what, text, LONGEST, f"longer than {LONGEST} characters")
    if not text.strip():
        raise NotationError(what, text, 0, "there is nothing to read")
    scanner = Scanner(what, text)
    try:
        return _read(scanner, read)
    except NotationError as error:
        for attempt in _attempts(scanner.plain, near):
            try:
                value = _read(Scanner(what, attempt), read)
            except NotationError:
                continue
            raise NotationError(what, text, error.position, error.why, suggestion=str(value)) from None
        raise


def _read(scanner: Scanner, read: Callable[[Scanner], _Value]) -> _Value:
    scanner.skip()
    start = scanner.at
    try:
        return read(scanner)
    except RecordError as error:  # a bound that the reader leaves to the value itself
        raise scanner.fail("; ".join(fault.message for fault in error.faults), start) from None
