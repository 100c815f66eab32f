"""Two invented packs for tests that must not hang on what our own packs say."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from stemlore.rules.discovery import Discovery

# Country, limits and act are invented; they hold for nothing.
_XA = {
    "pack.toml": """
id = "xa"
title = "Invented country"
version = "1.0"
place = "XA"
api = 1
first_day = 2000-01-01
own_law_below = false
""",
    "sources.toml": """
[act]
title = "Invented road act of a country that does not exist, long enough to be wrapped on any page"
issuer = "XA"
number = "Road Act 12/2000"
edition = "state of 2020-01-01"
grade = "read"

[trade]
title = "Invented handbook"
issuer = "XA trade body"
grade = "secondary"
""",
    "parameters/tread.toml": """
[min_depth]
unit = "mm"
doc = "Least tread depth"
[[min_depth.value]]
from = 2000-01-01
is = "1.6 mm"
cite = { source = "act", at = "art. 12" }
[[min_depth.value]]
from = 2030-01-01
is = "2 mm"
cite = { source = "act", at = "art. 12a" }
""",
    "parameters/valve.toml": """
[max_pressure]
unit = "kPa"
doc = "Greatest cold pressure of the valve"
bound = "most"
[[max_pressure.value]]
from = 2000-01-01
is = ["65 psi", "450 kPa"]
cite = { source = "trade", at = "p. 3" }
""",
    "rules.toml": """
[[rule]]
id = "xa.tyre.tread_depth"
title = "Tread in the main grooves is deep enough"
shape = "at_least"
field = "tyre.tread_depth_main_grooves"
limit = "tread.min_depth"
tie = "used_in"
basis = "law"
gravity = "hold"
cite = { source = "act", at = "art. 12" }
advice = "Renew the tyre."
caution = "Let the air out before the bead is broken."

[[rule]]
id = "xa.tyre.pressure"
title = "Pressure does not exceed what the valve bears"
shape = "at_most"
field = "tyre.pressure"
limit = "valve.max_pressure"
tie = "workshop"
basis = "practice"
gravity = "remedy"
cite = { source = "trade", at = "p. 3" }

[[rule]]
id = "xa.vehicle.monitoring"
title = "The tyre pressure monitoring works"
shape = "required"
field = "vehicle.monitoring_works"
tie = "registered_in"
basis = "practice"
gravity = "advise"
cite = { grade = "practice", at = "trade" }
""",
}


@pytest.fixture(scope="session")
def _invented(tmp_path_factory: pytest.TempPathFactory) -> Discovery:
    from stemlore.rules.discovery import Discovery, FailedPack, FoundPack
    from stemlore.rules.pack import PackFolder

    folder = tmp_path_factory.mktemp("packs") / "xa"
    for name, text in _XA.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_text(text, "utf-8")
    found = FoundPack(id="xa", place="XA", distribution="tests", version="0", folder=PackFolder(folder))
    broken = FailedPack(name="xb", distribution="tests-xb", version="0", error="ImportError: broken")
    return Discovery({"xa": found}, (broken,))


@pytest.fixture
def invented(_invented: Discovery, monkeypatch: pytest.MonkeyPatch) -> Discovery:
    """Only the pack of the invented country XA is installed; that of XB is broken."""
    from stemlore.rules import discovery

    monkeypatch.setattr(discovery, "_kept", {False: _invented, True: _invented})
    return _invented
