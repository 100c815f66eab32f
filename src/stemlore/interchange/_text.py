"""From bytes to plain values: size, encoding, grammar, duplicate keys, depth."""

from __future__ import annotations

import json
import os
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any, NoReturn

import msgspec

from stemlore.errors import DocumentError, Fault

__all__ = ["DEEPEST", "LONGEST", "Document", "depth_faults", "duplicate_faults", "open_document"]

LONGEST = 10 * 1024 * 1024
"""Documents longer than this many bytes are refused."""
DEEPEST = 32
"""Values nested deeper than this are refused."""

_BOM = b"\xef\xbb\xbf"
_OTHER_BOMS = (
    (b"\xff\xfe\x00\x00", "UTF-32"),
    (b"\x00\x00\xfe\xff", "UTF-32"),
    (b"\xff\xfe", "UTF-16"),
    (b"\xfe\xff", "UTF-16"),
)
_SAVE = "save it as UTF-8"


class Document:
    """A document as plain values, with the text it came from if there is one."""

    __slots__ = ("body", "root", "what")

    def __init__(self, what: str, root: Mapping[str, Any], body: bytes | None) -> None:
        self.what = what
        self.root = root
        self.body = body


def open_document(what: str, source: object) -> Document:
    """Read a file (a Path), a text (str or bytes), or take plain values (a mapping).

    Raises
    ------
    DocumentError
        If there is no document there, with line and column where there are any.
    """
    if isinstance(source, Mapping):
        return Document(what, source, None)
    if isinstance(source, str):
        body = _from_text(what, source)
    elif isinstance(source, (bytes, bytearray, memoryview)):
        body = bytes(source)
    elif isinstance(source, os.PathLike):
        path = Path(source)
        what = f"{what} in {path}"
        body = _from_file(what, path)
    else:
        _refuse(what, f"a {type(source).__name__} is not a document", "give a Path, text, bytes or a mapping")
    if len(body) > LONGEST:
        _refuse(what, f"longer than {LONGEST // 1024**2} MiB", "send one job in a document")
    if body.startswith(_BOM):
        body = body[len(_BOM) :]
    try:
        return Document(what, _decode(what, body), body)
    except RecursionError as error:
        _refuse(what, f"nested deeper than {DEEPEST}", "a job needs few levels", error)


def _refuse(what: str, message: str, advice: str = "", cause: Exception | None = None) -> NoReturn:
    raise DocumentError(what, [Fault("", message, advice)]) from cause


def _from_text(what: str, text: str) -> bytes:
    if "{" not in text and text.rstrip().lower().endswith(".json") and "\n" not in text:
        _refuse(
            what,
            f"{text[:80]!r} looks like the name of a file",
            f"give Path({text[:80]!r}); text is the document",
        )
    try:
        return text.encode()
    except UnicodeEncodeError as error:
        place = _line_and_column(text, error.start)
        _refuse(what, f"half a character (surrogate) at {place}", "write it again as Unicode text", error)


def _from_file(what: str, path: Path) -> bytes:
    try:
        with path.open("rb") as file:
            return file.read(LONGEST + 1)
    except (OSError, ValueError) as error:  # ValueError: a NUL in the name
        why = getattr(error, "strerror", None) or str(error)
        _refuse(
            what, f"cannot be read: {why}", "check the path, and that it is a file that may be read", error
        )


def _decode(what: str, body: bytes) -> Mapping[str, Any]:
    try:
        root = msgspec.json.decode(body)
    except (msgspec.MsgspecError, ValueError) as error:  # ValueError: bytes that are not UTF-8
        _explain(what, body, error)
    if not isinstance(root, dict):
        kind = {list: "a list", str: "text", bool: "true or false", type(None): "null"}.get(
            type(root), "a number"
        )
        _refuse(what, f"is {kind}, not an object", "put the job between { and }")
    return root


def _explain(what: str, body: bytes, error: Exception) -> NoReturn:
    """Say what is wrong with a text that the fast reader refused."""
    for mark, name in _OTHER_BOMS:
        if body.startswith(mark):
            _refuse(what, f"is written in {name}", _SAVE, error)
    if not body.strip():
        _refuse(what, "is empty", "put the job between { and }", error)
    if b"\0" in body[:4]:
        _refuse(what, "is written in UTF-16 or UTF-32, or is no text", _SAVE, error)
    try:
        text = body.decode()
    except UnicodeDecodeError as wrong:
        place = _line_and_column(body[: wrong.start].decode(), wrong.start)
        _refuse(what, f"a byte that is not UTF-8 at {place}", _SAVE, error)
    try:
        json.loads(text, parse_constant=_no_constant, parse_int=str, parse_float=str)
    except json.JSONDecodeError as wrong:
        _refuse(what, f"not JSON at line {wrong.lineno}, column {wrong.colno}: {wrong.msg}", "", error)
    except _ConstantError as wrong:
        _refuse(what, f"{wrong} is not a number in JSON", "leave the field out if it is not known", error)
    _refuse(what, f"not JSON: {error}", "check numbers and escapes", error)


class _ConstantError(Exception):
    """NaN or an infinity stands in the text."""


def _no_constant(name: str) -> NoReturn:
    raise _ConstantError(name)


def _line_and_column(text: str, at: int) -> str:
    before = text[:at]
    return f"line {before.count(chr(10)) + 1}, column {len(before) - before.rfind(chr(10))}"


def duplicate_faults(document: Document, pairs: int) -> Iterator[Fault]:
    """Yield a fault for each key that stands twice in one object.

    Parameters
    ----------
    document : Document
        What was read.
    pairs : int
        How many pairs of key and value its values hold. Each pair in the text
        has one colon: as many colons as pairs leave no room for a duplicate.
    """
    if document.body is None or document.body.count(b":") == pairs:
        return
    yield from _walk("", json.loads(document.body, object_pairs_hook=_Pairs, parse_int=str, parse_float=str))


class _Pairs(list[tuple[str, Any]]):
    """An object of JSON with all its pairs."""


def _walk(path: str, value: Any) -> Iterator[Fault]:
    if isinstance(value, _Pairs):
        seen: set[str] = set()
        for key, inner in value:
            place = f"{path}.{key}" if path else key
            if key in seen:
                yield Fault(place, "stands twice in one object", "keep one of them")
            seen.add(key)
            yield from _walk(place, inner)
    elif isinstance(value, list):
        for index, inner in enumerate(value):
            yield from _walk(f"{path}[{index}]", inner)


def depth_faults(root: Mapping[str, Any]) -> Iterator[Fault]:
    """Yield a fault if values are nested too deep; valid documents never are, and need not be looked at."""
    level: list[tuple[str, Mapping[str, Any] | list[Any] | tuple[Any, ...]]] = [("", root)]
    for _ in range(DEEPEST + 1):
        seen: set[int] = set()  # an object that holds itself is looked at once a level
        below: list[tuple[str, Any]] = []
        for path, value in level:
            if id(value) in seen:
                continue
            seen.add(id(value))
            if isinstance(value, Mapping):
                below += [(f"{path}.{key}" if path else str(key), inner) for key, inner in value.items()]
            else:
                below += [(f"{path}[{index}]", inner) for index, inner in enumerate(value)]
        level = [(path, value) for path, value in below if isinstance(value, (Mapping, list, tuple))]
        if not level:
            return
    yield Fault(level[0][0].partition(".")[0], f"nested deeper than {DEEPEST}", "a job needs few levels")
