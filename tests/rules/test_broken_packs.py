"""Ways to break a whole pack, each told with its error, file and line; nothing is lost in silence.

The pack is the example of XA; what single keys refuse stands in test_pack.py,
test_parameters.py and test_own_fields.py.
"""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import attrs
import pytest

from stemlore.errors import PackError, PackLoadError, RecordError, RuleError
from stemlore.rules import PackFolder, rulebook
from stemlore.testing import read_alike, read_cases

EXAMPLE = Path(__file__).parents[2] / "examples" / "pack-xa" / "src" / "stemlore_pack_xa"
DAY = "2026-01-15"


@attrs.frozen
class Broken:
    """A copy of the pack with one place changed."""

    folder: Path

    def alter(self, name: str, old: str, new: str) -> Broken:
        path = self.folder / name
        text = path.read_text("utf-8")
        assert old in text, f"{old!r} is not in {name}"
        path.write_text(text.replace(old, new, 1), "utf-8")
        return self

    def line(self, name: str, start: str) -> str:
        """Return file and number of the first line that starts so."""
        lines = (self.folder / name).read_text("utf-8").splitlines()
        return f"{name}:{next(number for number, text in enumerate(lines, 1) if text.startswith(start))}"

    def told(self, reader: Callable[[Path], object] = lambda folder: PackFolder(folder).load()) -> list[str]:
        with pytest.raises(PackError) as caught:
            reader(self.folder)
        return [str(fault) for fault in caught.value.faults]

    def opened(self) -> None:
        rulebook("XA", on=DAY, also=[PackFolder(self.folder)])


@pytest.fixture
def broken(tmp_path: Path) -> Broken:
    return Broken(Path(shutil.copytree(EXAMPLE, tmp_path / "xa")))


def test_as_it_is_nothing_is_wrong(broken: Broken) -> None:
    broken.opened()
    assert len(read_cases(broken.folder)) > 20


# --- one fault each: it alone is told, none that only follows from it ---------------------------

RETIRED = '[retired."xa.tyre.studs"]'
SEASON = 'is = { from = "11-01", to = "04-15" }'
CLEARANCE = "[chain_clearance]"

ONE = [
    # file, text, instead of it, the line that is told, what is told
    ("pack.toml", 'id = "xa"', 'id = "XA"', "id", "id: 'XA' is no name of a pack"),
    ("pack.toml", 'id = "xa"', 'id = "x.a"', "id", "id: 'x.a' is no name of a pack"),
    ("pack.toml", 'version = "2026.1"', 'version = " "', "version", "version: must be given as text"),
    ("pack.toml", "first_day = 2001-01-01", "first_day = 2001-01-01T00:00:00", "first_day", "is not a day"),
    ("pack.toml", "api = 1", "api = 1.0", "api", "api: must be given as a whole number"),
    ("pack.toml", "api = 1", "api = 1\nparents = [5]", "parents", "parents[0]: names no pack"),
    (
        "pack.toml",
        "api = 1",
        'api = 1\nparents = [{ id = "eu", from = 2010-01-01, until = 2009-01-01 }]',
        "parents",
        "parents[0].until: 2009-01-01 lies before 2010-01-01",
    ),
    ("pack.toml", RETIRED, '[retired."xb.tyre.studs"]', "[retired", "does not begin with 'xa'"),
    ("pack.toml", "why =", "whi =", RETIRED, "whi: unknown key (did you mean why?)"),
    ("pack.toml", "on = 2020-01-01", 'on = "2020"', RETIRED, "studs.on: '2020' is not a day"),
    ("pack.toml", 'id = "xa"', '\ufeffid = "xa"', "", "Invalid statement (at line 1, column 1)"),
    ("sources.toml", 'title = "Road', 'title = " " # "Road', "[road-act]", "road-act.title: must be given"),
    ("sources.toml", "[road-act]", "[[road-act]]", "[[road-act]]", "road-act: is not a table"),
    ("sources.toml", "10-02", "10-02T10:00:00", "[road-act]", "road-act.read_on"),
    ("sources.toml", 'language = "en"', "language = en", "language", "Invalid value (at line 7"),
    ("fields.toml", CLEARANCE, "[[chain_clearance]]", "[[chain", "chain_clearance: is not a table"),
    ("fields.toml", 'unit = "mm"', "unit = 5", CLEARANCE, "chain_clearance.unit: unknown unit '5'"),
    ("fields.toml", '"flag"', '"word"\nwords = "ab"', "[chains", "needs its list of words"),
    ("fields.toml", '"flag"', '"word"\nwords = ["a", "a"]', "[chains", "each once"),
    ("fields.toml", '"flag"', '["flag"]', "[chains", "['flag'] is not a kind"),
    ("fields.toml", "walk = 10", "walk = =", "walk = =", "Invalid value"),
    ("parameters/tread.toml", 'doc = "Least', 'doc = 5 # "', "[min_depth]", "min_depth.doc: must say"),
    ("parameters/tread.toml", 'is = "1.0 mm"', "is = []", "[min_depth]", "is: the list of figures is empty"),
    ("parameters/tread.toml", "[[min_depth.value]]\n", "[min_depth.value]\n", "[[min", "Cannot overwrite"),
    ("parameters/winter.toml", '"04-15"', '"04-31"', "[season]", "'04-31' is no day of the year"),
    ("parameters/winter.toml", SEASON, 'is = "winter"', "[season]", "is: a season is { from ="),
    ("rules.toml", "[[rule]]", "[[rules]]", None, "rules: unknown key (did you mean rule?)"),
    ("rules.toml", '"tread.min_depth"', '"min_depth"', "[[rule]]", "no parameter 'min_depth' (did you"),
    ("rules.toml", '"tread.min_depth"', '"xa.tread.min.depth"', "[[rule]]", "'xa.tread.min.depth'"),
    ("rules.toml", 'source = "road-act"', 'source = "rode-act"', "[[rule]]", "cite: no source 'rode-act'"),
    ("rules.toml", 'title = "Tread', 'title = " " # "', "[[rule]]", "tread_depth.title: must be given"),
    ("rules.toml", 'advice = "Renew', 'what = 5\nadvice = "Renew', "[[rule]]", "what: 5 is not text"),
    ("rules.toml", '{ "vehicle.category" = "M1" }', '{ vehicle = { x = "M1" } }', "[[rule]]", "unknown"),
    ("rules.py", '"axle"', '"axel"', '    Rule(\n', "'axel' is no subject (did you mean axle?)"),
    ("rules.py", "RULES = [", "RULES = ([", "RULES", "SyntaxError"),
    ("rules.py", "RULES = [", "RULES = [None] + [", None, "has no list RULES of rules"),
    ("rules.py", "RULES = [", "RULES = [1 / 0] + [", "RULES", "ZeroDivisionError: division by zero"),
    ("rules.py", 'parameter("xa.tread.max_difference")', "5", "        check", "BareNumberError: 5 has no"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("name", "old", "new", "start", "says"), ONE, ids=[f"{a}: {c}" for a, _, c, *_ in ONE]
)
def test_one_fault_is_told_alone_with_file_and_line(
    broken: Broken, name: str, old: str, new: str, start: str | None, says: str
) -> None:
    told = broken.alter(name, old, new).told()
    spot = name if start is None else broken.line(name, start.removesuffix("\n"))
    assert [each for each in told if not each.startswith(f"{spot}: ")] == []
    assert says in told[0]
    if name not in ("sources.toml", "pack.toml"):  # several keys may be wrong at once there
        assert len(told) == 1


def test_a_supersession_that_is_no_text_is_told(broken: Broken) -> None:
    (told,) = broken.alter("rules.toml", '"world.valve.sealing_cap"', "[5]").told()
    assert told.startswith("rules.toml:")
    assert "xa.valve.sealing_cap.supersedes: [5] is not a list of rule ids" in told


# --- files that nobody would read ---------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "new", "says"),
    [
        ("rules.toml", "rule.toml", "rule.toml: is no file of a pack (did you mean rules.toml?)"),
        ("fields.toml", "field.toml", "field.toml: is no file of a pack (did you mean fields.toml?)"),
        ("parameters/tread.toml", "tread.toml", "tread.toml: is no file of a pack"),
        ("parameters/tread.toml", "parameters/tread.yaml", "parameters/tread.yaml: is not read"),
        (
            "parameters/tread.toml",
            "parameters/car/tread.toml",
            "parameters/car: is not read (only parameters/",
        ),
    ],
)
def test_a_file_that_is_not_read_is_told(broken: Broken, name: str, new: str, says: str) -> None:
    (broken.folder / new).parent.mkdir(exist_ok=True)
    (broken.folder / name).rename(broken.folder / new)
    assert any(each.startswith(says) for each in broken.told())


def test_what_no_pack_reads_may_lie_beside(broken: Broken) -> None:
    (broken.folder / "README.md").write_text("# XA\n")
    (broken.folder / "parameters" / ".keep").write_text("")
    PackFolder(broken.folder).load()


# --- told where the rulebook is opened: it needs the packs beside --------------------------------

OPENED = [
    (
        '"tread.min_depth"',
        '"tread.min.depth"',
        "xa.tyre.tread_depth",
        "no parameter 'tread.min.depth' in the",
    ),
    ('"tread.min_depth"', '"winter.season"', "xa.tyre.tread_depth", "a flag has no order"),
    (
        '"tread.min_depth"',
        '"xb.tread.min_depth"',
        "xa.tyre.tread_depth",
        "no parameter 'xb.tread.min_depth' in the",
    ),
    (
        '"winter.season"',
        '"tread.min_depth"',
        "xa.tyre.winter_mark",
        "a number stands where a condition is needed",
    ),
    (
        '{ "vehicle.category" = "M1" }',
        '{ "parameter:tread.min_depth" = true }',
        "xa.tyre.tread_depth",
        "a number stands where a condition is needed",
    ),
    ('"winter.chain_clearance"', '"tread.max_differenc"', None, "no parameter 'xa.tread.max_differenc'"),
    ("world.valve.sealing_cap", "world.valve.seeling_cap", "xa.valve.sealing_cap", "which no open pack has"),
    (
        "world.valve.sealing_cap",
        "xa.tyre.winter_mark",
        "xa.valve.sealing_cap",
        "whose pack is no parent of 'xa'",
    ),
    (
        "world.valve.sealing_cap",
        "world.valve.renewed",
        "xa.valve.sealing_cap",
        "is tied to workshop, not used_in",
    ),
]


@pytest.mark.parametrize(("old", "new", "rule", "says"), OPENED, ids=[each[1] for each in OPENED])
def test_what_does_not_fit_is_told_with_the_line_of_the_rule(
    broken: Broken, old: str, new: str, rule: str | None, says: str
) -> None:
    broken.alter("rules.toml", old, new)
    with pytest.raises((RuleError, PackLoadError)) as caught:
        broken.opened()
    assert says in str(caught.value)
    if rule is not None:
        line = int(broken.line("rules.toml", f'id = "{rule}"').partition(":")[2]) - 1
        assert f"rules.toml:{line}: rule {rule}: " in str(caught.value)


@pytest.mark.parametrize(
    ("parents", "says"),
    [('["xa"]', "its parents run in a circle: xa > xa"), ('["xq"]', "its parent 'xq' cannot be loaded")],
)
def test_parents_that_cannot_be_opened_are_told(broken: Broken, parents: str, says: str) -> None:
    broken.alter("pack.toml", "api = 1", f"api = 1\nparents = {parents}")
    with pytest.raises(PackLoadError, match=says):
        broken.opened()


# --- cases ---------------------------------------------------------------------------------------

GIVEN = 'given = { "tyre.snowflake" = false }'
CASES = [
    ("[[case]]", "[[cases]]", None, "cases: unknown key"),
    ("[[case]]", "[case]", "rule", "Cannot mutate immutable|Cannot overwrite"),
    ("margin = 0.0", 'margin = "0"', "[[case]]", "margin: '0' is not a number"),
    ("margin = 0.0", "margin = true", "[[case]]", "margin: True is not a number"),
    ('expect = "pass"', 'expect = ["pass"]', "[[case]]", "expect: ['pass'] is not one"),
    ('rule = "xa.tyre.tread_depth"', 'rule = ["a"]', "[[case]]", "rule: ['a'] is not text"),
    (GIVEN, 'given = ["x"]', None, "given: is not a table of readings"),
    ('without = ["tyre.snowflake"]', "without = [5]", None, "without: [5] is not a list of text"),
    ('[base."xa.tyre.tread_depth"]', "[base]\nx = 5\n[base.y]", None, "base: is not a table of rules"),
    ("on = 2026-01-15", "on = 2026-01-15T10:00:00", "[[case]]", "on: rule and day must be given"),
]


@pytest.mark.parametrize(("old", "new", "start", "says"), CASES, ids=[each[1] for each in CASES])
def test_a_faulty_case_is_told_with_its_line(
    broken: Broken, old: str, new: str, start: str | None, says: str
) -> None:
    told = broken.alter("cases.toml", old, new).told(read_cases)
    assert all(each.startswith("cases.toml") for each in told)
    assert any(part in each for each in told for part in says.split("|")), told
    if start == "[[case]]":
        assert told[0].startswith(f"{broken.line('cases.toml', start)}: case[0] ")


def test_exceptions_that_are_no_list_are_told(broken: Broken) -> None:
    path = broken.folder / "cases.toml"
    path.write_text("alike = 5\n" + path.read_text("utf-8"), "utf-8")
    assert broken.told(read_alike) == ["cases.toml: alike: is not a list (write [[alike]] above each)"]


@pytest.mark.parametrize(
    ("reading", "says"),
    [
        ('"axel 1: axle.fitment" = "dual"', "axel 1: axle.fitment: names no axle of the case"),
        ('"axle 3 left: tyre.snowflake" = true', "axle 3 left: tyre.snowflake: names no wheel of the case"),
        ('"axel 1: tyre.snowflake" = true', "axel 1: tyre.snowflake: names no wheel of the case"),
        ('"axle.fitment" = "triple"', "axle 1: axle.fitment: 'triple' is no fitment"),
    ],
)
def test_a_reading_for_no_wheel_is_an_error_and_not_left_out(broken: Broken, reading: str, says: str) -> None:
    broken.alter("cases.toml", GIVEN, f'given = {{ "tyre.snowflake" = false, {reading} }}')
    case = next(case for case in read_cases(broken.folder) if case.rule == "xa.tyre.winter_mark")
    with pytest.raises(RecordError) as caught:
        _ = case.job
    assert says in str(caught.value)
