"""A few designations of every form, for records: one choice each, so that whole jobs shrink quickly.

The strategies of the designations themselves draw from all there are. The
simplest stands first.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import date, timedelta
from functools import lru_cache
from typing import Any, cast

from hypothesis import strategies as st

from stemlore.model import FieldSpec
from stemlore.notation import DateSpan, RimSize, TyreIdentificationNumber, TyreSize, ValveCode

__all__ = ["pooled"]

_TYRES = (
    "205/55 R16", "205/55 R16 91V", "195/65 R15 91T", "195/65 R15 95T XL", "225/45 ZR17 (94Y) XL",
    "225/45 R17 91W RF", "HL245/40 R19 101Y", "185/75 R14 C 102/100Q", "195 R14 C 106/104N",
    "P215/65 R16 98H", "LT245/75 R16 120/116S", "ST205/75 D14", "T125/80 D15 95M", "315/80 R22.5 156/150L",
    "385/65 R22.5 160K", "120/70 ZR17", "120/70 B17 58V", "100/90 D19 57H", "255/70 R22.5 LT",
    "215/60 R16 CP 103/101T",
)  # fmt: skip
_RIMS = (
    "6Jx16", "6.5Jx16 H2 ET45", "8.25x22.5", "7.5V-20", "11.75x22.5 ET120", "5.5JJx14", "5Kx15 FH",
    "4.5Bx13 CH", "9Jx19 EH2+ ET-12.5", "2.5x17",
)  # fmt: skip
_VALVES = (
    "TR413", "TR412", "TR414", "TR414CH", "TR415", "TR418", "TR425", "TR600HP", "TR602HP", "TR801HP",
    "TR570C", "TR572C", "TR13", "TR9999",
)  # fmt: skip
_NUMBERS = (
    "DOT 2318", "DOT U2LL LMLR 5107", "DOT U2LL LMLR 0100", "DOT U2LL LMLR 5225", "DOT U2LLLMLR", "DOT 408",
    "DOT U2LL LMLR 408\u25c1", "DOT 1B3 C4D5E6 1024", "DOT 270", "DOT 3524",
)  # fmt: skip
_SPANS = (
    "2018", "2018-06", "2018-W23", "2020-02", "2024-02-28/2024-02-29", "2012-10-31/2012-11-01", "2014-11",
    "2000-W27", "1990-01-01/1999-12-31", "2003-12-31/2004-01-01", "2022-07-05/2022-07-07", "1971",
)  # fmt: skip
_TEXTS = ("a", "manual, page 3", "ISO 6789-1", "type II, class A", "äöß", "0", "x" * 40, "'\"\\")
_POOLS: dict[Any, tuple[Callable[[str], Any], Iterable[str]]] = {
    TyreSize: (TyreSize.parse, _TYRES),
    RimSize: (RimSize.parse, _RIMS),
    ValveCode: (ValveCode.parse, _VALVES),
    TyreIdentificationNumber: (TyreIdentificationNumber.parse, _NUMBERS),
    DateSpan: (DateSpan.parse, _SPANS),
}
_MIDDLE = date(2000, 1, 1)  # days shrink to it
_EARLIER, _LATER = -11_000, 18_000


@lru_cache(maxsize=16)
def _pool(cls: Any) -> tuple[Any, ...]:
    parse, texts = _POOLS[cls]
    return tuple(parse(text) for text in texts)


def _day(number: int) -> DateSpan:
    return DateSpan.day(_MIDDLE + timedelta(days=number))


def pooled(spec: FieldSpec) -> list[st.SearchStrategy[Any]]:
    """Return strategies of one choice each for a date, a text or a designation; none for other kinds."""
    match spec.kind:
        case "date":
            days = st.integers(_EARLIER, _LATER).map(_day)
            return [days] if spec.path == "event.on" else [days, days, st.sampled_from(_pool(DateSpan))]
        case "notation" if spec.holds in _POOLS:
            return [st.sampled_from(_pool(cast(Any, spec.holds)))]
        case "text" if spec.name.endswith("table_code"):
            return [st.sampled_from([code.table_key for code in _pool(ValveCode)])]
        case "text" if spec.name == "size_designation":
            return [st.sampled_from(["205/55 R16", "195/65 R15"])]
        case "text":
            return [st.sampled_from(_TEXTS)]
        case "records" if spec.holds is TyreSize:
            sizes = _pool(TyreSize)
            return [st.sampled_from([(), sizes[1:2], sizes[:2], sizes[2:6]])]
    return []
