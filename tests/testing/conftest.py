"""A whole invented pack that satisfies the kit, TOML alone, for tests to break in one place each."""

from __future__ import annotations

from pathlib import Path

import pytest

from stemlore.testing import ConformanceCase, conformance_cases, write_released

# Country, limits and act are invented; they hold for nothing.
FILES = {
    "pack.toml": """
id = "xa"
title = "Invented country"
version = "1.0"
place = "XA"
api = 1
first_day = 2001-01-01
own_law_below = false
""",
    "sources.toml": """
[act]
title = "Road act"
issuer = "XA"
number = "Act 12/2001"
grade = "read"
""",
    "fields.toml": """
[dust]
subject = "position"
kind = "number"
unit = "mm"
meaning = "dust on the valve"
how = "Measure it."
""",
    "parameters/tread.toml": """
[min_depth]
unit = "mm"
doc = "Least tread depth"
[[min_depth.value]]
from = 2001-01-01
is = "1.0 mm"
cite = { source = "act", at = "art. 12" }
[[min_depth.value]]
from = 2014-07-01
is = "1.6 mm"
cite = { source = "act", at = "art. 12 as amended" }

[construction]
kind = "word"
doc = "Construction that must be fitted"
[[construction.value]]
from = 2001-01-01
is = "radial"
cite = { source = "act", at = "art. 13" }

[least_index]
unit = "1"
doc = "Least load index"
[[least_index.value]]
from = 2001-01-01
is = 80
until = 2019-12-31
cite = { source = "act", at = "art. 14" }

[most_dust]
unit = "mm"
doc = "Greatest dust"
[[most_dust.value]]
from = 2001-01-01
is = "2 mm"
cite = { source = "act", at = "art. 15" }
""",
    "parameters/dates.toml": """
[winter]
kind = "season"
doc = "Days on which winter tyres are a duty"
[[winter.value]]
from = 2001-01-01
is = { from = "11-01", to = "04-15" }
cite = { source = "act", at = "art. 20" }

[duty]
kind = "flag"
doc = "Whether monitoring is a duty"
counts_from = "vehicle.first_registration"
[[duty.value]]
is = false
cite = { source = "act", at = "art. 31" }
[[duty.value]]
from = 2014-11-01
is = true
cite = { source = "act", at = "art. 31" }
""",
    "rules.toml": """
[[rule]]
id = "xa.tyre.tread_depth"
title = "Tread is deep enough"
shape = "at_least"
field = "tyre.tread_depth_main_grooves"
limit = "tread.min_depth"
tie = "used_in"
basis = "law"
gravity = "hold"
cite = { source = "act", at = "art. 12" }
when = { "vehicle.category" = ["M1", "N1"] }

[[rule]]
id = "xa.tyre.construction"
title = "Tyres are radial"
shape = "equals"
field = "tyre.construction"
limit = "tread.construction"
tie = "used_in"
basis = "law"
gravity = "hold"
cite = { source = "act", at = "art. 13" }

[[rule]]
id = "xa.tyre.load_index"
title = "Tyres bear enough"
shape = "at_least"
field = "tyre.load_index"
limit = "tread.least_index"
tie = "used_in"
basis = "law"
gravity = "hold"
cite = { source = "act", at = "art. 14" }

[[rule]]
id = "xa.valve.dust"
title = "Valves are clean"
shape = "at_most"
field = "own.xa.dust"
limit = "tread.most_dust"
tie = "used_in"
basis = "practice"
gravity = "advise"
cite = { source = "act", at = "art. 15" }

[[rule]]
id = "xa.tyre.winter"
title = "In the winter the tyres bear the snowflake"
shape = "required_in_season"
field = "tyre.snowflake"
limit = "dates.winter"
tie = "used_in"
basis = "law"
gravity = "hold"
cite = { source = "act", at = "art. 20" }

[[rule]]
id = "xa.vehicle.monitoring"
title = "A car registered since the duty began has monitoring"
shape = "required_from"
field = "vehicle.monitoring"
limit = "dates.duty"
tie = "registered_in"
basis = "law"
gravity = "remedy"
cite = { source = "act", at = "art. 31" }
""",
    "cases.toml": """
[base."xa.tyre.tread_depth"]
on = 2024-01-15
given = { "vehicle.category" = "M1", "tyre.tread_depth_main_grooves" = "1.6 mm" }
[[case]]
rule = "xa.tyre.tread_depth"
each = { "vehicle.category" = ["M1", "N1"] }
expect = "pass"
margin = 0.0
[[case]]
rule = "xa.tyre.tread_depth"
given = { "tyre.tread_depth_main_grooves" = "1.5 mm" }
expect = "fail"
[[case]]
rule = "xa.tyre.tread_depth"
without = ["tyre.tread_depth_main_grooves"]
expect = "unknown"
[[case]]
rule = "xa.tyre.tread_depth"
given = { "vehicle.category" = "N3" }
expect = "not applicable"
[[case]]
rule = "xa.tyre.tread_depth"
on = 2014-07-01
given = { "tyre.tread_depth_main_grooves" = "1.5 mm" }
expect = "fail"
[[case]]
rule = "xa.tyre.tread_depth"
on = 2014-06-30
given = { "tyre.tread_depth_main_grooves" = "1 mm" }
expect = "pass"
[[case]]
rule = "xa.tyre.tread_depth"
on = 2014-06-30
given = { "tyre.tread_depth_main_grooves" = "0.9 mm" }
expect = "fail"
[[case]]
rule = "xa.tyre.tread_depth"
on = 2001-01-01
expect = "pass"
[[case]]
rule = "xa.tyre.tread_depth"
on = 2000-12-31
expect = "refused"

[base."xa.tyre.construction"]
on = 2024-01-15
[[case]]
rule = "xa.tyre.construction"
given = { "tyre.construction" = "radial" }
expect = "pass"
[[case]]
rule = "xa.tyre.construction"
given = { "tyre.construction" = "diagonal" }
expect = "fail"
[[case]]
rule = "xa.tyre.construction"
expect = "unknown"
[[case]]
rule = "xa.tyre.construction"
on = 2001-01-01
given = { "tyre.construction" = "radial" }
expect = "pass"
[[case]]
rule = "xa.tyre.construction"
on = 2000-12-31
expect = "refused"

[base."xa.tyre.load_index"]
on = 2016-01-15
[[case]]
rule = "xa.tyre.load_index"
given = { "tyre.load_index" = 80 }
expect = "pass"
[[case]]
rule = "xa.tyre.load_index"
given = { "tyre.load_index" = 79 }
expect = "fail"
[[case]]
rule = "xa.tyre.load_index"
expect = "unknown"
[[case]]
rule = "xa.tyre.load_index"
on = 2001-01-01
given = { "tyre.load_index" = 80 }
expect = "pass"
[[case]]
rule = "xa.tyre.load_index"
on = 2000-12-31
expect = "refused"
[[case]]
rule = "xa.tyre.load_index"
on = 2019-12-31
given = { "tyre.load_index" = 79 }
expect = "fail"
[[case]]
rule = "xa.tyre.load_index"
on = 2020-01-01
expect = "not in force"

[base."xa.valve.dust"]
on = 2024-01-15
[[case]]
rule = "xa.valve.dust"
given = { "own.xa.dust" = "2 mm" }
expect = "pass"
[[case]]
rule = "xa.valve.dust"
given = { "own.xa.dust" = "2.1 mm" }
expect = "fail"
[[case]]
rule = "xa.valve.dust"
expect = "unknown"
[[case]]
rule = "xa.valve.dust"
on = 2001-01-01
given = { "own.xa.dust" = "2 mm" }
expect = "pass"
[[case]]
rule = "xa.valve.dust"
on = 2000-12-31
expect = "refused"

[base."xa.tyre.winter"]
on = 2024-01-15
given = { "tyre.snowflake" = false }
[[case]]
rule = "xa.tyre.winter"
expect = "fail"
[[case]]
rule = "xa.tyre.winter"
given = { "tyre.snowflake" = true }
expect = "pass"
[[case]]
rule = "xa.tyre.winter"
without = ["tyre.snowflake"]
expect = "unknown"
[[case]]
rule = "xa.tyre.winter"
on = 2023-11-01
expect = "fail"
[[case]]
rule = "xa.tyre.winter"
on = 2023-10-31
expect = "pass"
[[case]]
rule = "xa.tyre.winter"
on = 2024-04-15
expect = "fail"
[[case]]
rule = "xa.tyre.winter"
on = 2024-04-16
expect = "pass"
[[case]]
rule = "xa.tyre.winter"
on = 2001-01-01
expect = "fail"
[[case]]
rule = "xa.tyre.winter"
on = 2000-12-31
expect = "refused"

[base."xa.vehicle.monitoring"]
on = 2024-01-15
given = { "vehicle.first_registration" = "2014-11-01", "vehicle.monitoring" = "none" }
[[case]]
rule = "xa.vehicle.monitoring"
expect = "fail"
[[case]]
rule = "xa.vehicle.monitoring"
given = { "vehicle.monitoring" = "direct" }
expect = "pass"
[[case]]
rule = "xa.vehicle.monitoring"
given = { "vehicle.first_registration" = "2014-10-31" }
expect = "pass"
[[case]]
rule = "xa.vehicle.monitoring"
without = ["vehicle.first_registration"]
expect = "unknown"
""",
}


class Author:
    """Writes the pack, alters it, and asks the kit."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        for name, text in FILES.items():
            path = folder / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(text, "utf-8")
        write_released(folder)

    def alter(self, name: str, old: str, new: str) -> None:
        """Exchange what stands in a file; it must be there."""
        path = self.folder / name
        text = path.read_text("utf-8")
        assert old in text, f"{old!r} is not in {name}"
        path.write_text(text.replace(old, new), "utf-8")

    def cases(self) -> dict[str, ConformanceCase]:
        """Return the kit's cases by name."""
        return {str(case): case for case in conformance_cases(self.folder)}

    def told(self, name: str) -> str:
        """Return what one case of the kit says is wrong."""
        with pytest.raises(AssertionError) as raised:
            self.cases()[name].check()
        return str(raised.value)


@pytest.fixture
def author(tmp_path: Path) -> Author:
    return Author(tmp_path / "xa")
