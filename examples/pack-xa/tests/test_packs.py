"""Both packs satisfy what every pack must; ``stemlore pack check .`` tells the same."""

from __future__ import annotations

import pytest
from stemlore_pack_xa import PACK as XA
from stemlore_pack_xa_ab import PACK as XA_AB

from stemlore.testing import ConformanceCase, conformance_cases

CASES = [*conformance_cases(XA), *conformance_cases(XA_AB, also=[XA])]


@pytest.mark.parametrize("case", CASES, ids=str)
def test_pack(case: ConformanceCase) -> None:
    case.check()
