"""Valve numbers."""

from __future__ import annotations

import pytest

from stemlore.errors import NotationError, RecordError
from stemlore.notation import ValveCode


@pytest.mark.parametrize(
    ("text", "written", "table_key"),
    [
        ("TR413", "TR413", "TR413"),
        ("tr 413", "TR413", "TR413"),
        ("TR-413", "TR413", "TR413"),
        ("ＴＲ４１３", "TR413", "TR413"),
        ("TR413CH", "TR413CH", "TR413"),
        ("TR 413 ch", "TR413CH", "TR413"),
        ("TR-600HP", "TR600HP", "TR600HP"),
        ("TR-600-HP", "TR600HP", "TR600HP"),
        ("TR600HPCH", "TR600HPCH", "TR600HP"),
        ("TR218A", "TR218A", "TR218A"),
        ("TR570C", "TR570C", "TR570C"),
        ("TR4", "TR4", "TR4"),
    ],
)
def test_reads_and_writes(text: str, written: str, table_key: str) -> None:
    value = ValveCode.parse(text)
    assert (str(value), value.table_key, value.scheme) == (written, table_key, "TRA")
    assert ValveCode.parse(written) == value


@pytest.mark.parametrize(
    ("text", "position", "suggestion"),
    [
        ("413", 0, "TR413"),
        (" 600 hp", 1, "TR600HP"),
        ("TRA413", 2, "TR413"),
        ("TR0413", 2, "TR413"),
        ("TR.413", 2, "TR413"),
        ("TR", 2, ""),
        ("TR413-", 6, "TR413"),
        ("TR413CHROME", 5, ""),
        ("TR413 414", 6, ""),
        ("TR12345", 2, ""),
        ("V2.03.1", 0, ""),
        ("43 GS 11.5", 0, ""),
        ("ТР413", 0, ""),  # Cyrillic letters, the second looks like P
    ],
)
def test_refuses(text: str, position: int, suggestion: str) -> None:
    with pytest.raises(NotationError) as caught:
        ValveCode.parse(text)
    assert (caught.value.position, caught.value.suggestion) == (position, suggestion)


def test_constructor_collects_all_faults() -> None:
    with pytest.raises(RecordError) as caught:
        ValveCode(number=0, suffix="ch", scheme="XX")
    assert [fault.path for fault in caught.value.faults] == ["scheme", "number", "suffix"]
