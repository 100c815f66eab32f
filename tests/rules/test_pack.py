"""What cannot load as a pack, told all at once with file, line and key; and what loads."""

from __future__ import annotations

import sys
from datetime import date

import pytest

from stemlore.errors import PackError, PackLoadError
from stemlore.model import Job, Vehicle
from stemlore.rules import Basis, Gravity, Outcome, PackFolder, Tie, check, pack_folder

TREAD = {
    "shape": "at_least",
    "field": "tyre.tread_depth_main_grooves",
    "limit": "tread.min_depth",
}


def faults(folder):
    with pytest.raises(PackError) as caught:
        folder.load()
    return [str(each) for each in caught.value.faults]


def told(folder, says):
    found = faults(folder)
    assert any(says in each for each in found), found
    return next(each for each in found if says in each)


def test_a_pack_of_toml_alone(packs):
    folder = packs(
        [
            TREAD
            | {"when": {"vehicle.category": ["M1", "N1"]}, "advice": "Renew it.", "from": date(2001, 1, 1)}
        ],
        {"tread": packs.number("min_depth")},
        first_day=date(2001, 1, 1),
        parents=["xb", {"id": "xc", "from": date(2010, 1, 1), "until": date(2019, 12, 31)}],
        own_law_below=False,
        retired={"xa.tyre.older": {"on": date(2015, 1, 1), "why": "put together"}},
    )
    pack = folder.load()
    assert (pack.id, pack.place, pack.version, pack.own_law_below) == ("xa", "XA", "1", False)
    assert [parent.id for parent in pack.parents] == ["xb", "xc"]
    assert pack.parents[1].holds_on(date(2019, 12, 31))
    assert not pack.parents[1].holds_on(date(2020, 1, 1))
    rule = pack.rules["xa.tyre.tread_depth"]
    assert (rule.tie, rule.basis, rule.gravity, rule.subject) == (
        Tie.USED_IN,
        Basis.LAW,
        Gravity.HOLD,
        "position",
    )
    assert str(pack.citation(rule.cite)) == "Xa, RA 12, art. 12 [text read]"
    assert pack.retired["xa.tyre.older"]["why"] == "put together"


def test_a_pack_is_read_once(packs):
    folder = packs([{}])
    assert folder.load() is folder.load()


def test_pack_folder_is_the_folder_beside_a_module(packs, tmp_path):
    packs([{}])
    assert pack_folder(str(tmp_path / "xa" / "__init__.py")).load().id == "xa"


# --- the head -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("head", "says"),
    [
        ({"title": None}, "title: must be given as text"),
        ({"version": 2026}, "version: must be given as text"),
        ({"place": None}, "place: must be given as text"),
        ({"place": "XYZ"}, "place: unknown place 'XYZ'"),
        ({"place": "xa"}, "place: is spelt XA"),
        ({"api": "1"}, "api: must be given as a whole number"),
        ({"api": True}, "api: must be given as a whole number"),
        ({"api": 2}, "api: is 2; this stemlore reads 1"),
        ({"parent": ["xb"]}, "parent: unknown key (did you mean parents?)"),
        ({"parents": "xb"}, "parents: is not a list"),
        ({"parents": [{"from": date(2000, 1, 1)}]}, "parents[0]: names no pack"),
        ({"parents": [{"id": "xb", "from": "2000"}]}, "parents[0].from: '2000' is not a day"),
        ({"parents": [{"id": "xb", "til": date(2000, 1, 1)}]}, "til: unknown key"),
        ({"first_day": "1992"}, "first_day: '1992' is not a day"),
        ({"own_law_below": "no"}, "own_law_below: 'no' is neither true nor false"),
        ({"retired": ["xa.a.b"]}, "retired: is not a table"),
    ],
)
def test_a_faulty_head(packs, head, says):
    assert told(packs([{}], **head), says).startswith("pack.toml")


def test_a_head_without_an_id_cannot_be_read_further(packs, tmp_path):
    folder = packs([{}], folder="nameless", id="xa")
    (folder.path / "pack.toml").write_text('title = "T"\nversion = "1"\nplace = "XA"\napi = 1\n')
    assert told(folder, "id: must be given as text").startswith("pack.toml")


def test_a_retired_rule_cannot_be_in_force(packs):
    folder = packs([{}], retired={"xa.tyre.tread_depth": {"why": "ended"}})
    assert "is also in force" in told(folder, "retired.xa.tyre.tread_depth")


# --- files ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["pack.toml", "sources.toml", "rules.toml", "parameters/tread.toml"])
def test_toml_that_cannot_be_read_is_told_with_its_line(packs, name):
    folder = packs([TREAD], {"tread": packs.number("min_depth")})
    path = folder.path / name
    path.write_text(path.read_text() + "\nbroken = = 1\n")
    line = path.read_text().count("\n")
    assert f"line {line}" in told(folder, path.name)


@pytest.mark.parametrize("name", ["pack.toml", "sources.toml", "rules.toml", "parameters/tread.toml"])
def test_a_file_that_is_not_utf_8_is_told(packs, name):
    folder = packs([TREAD], {"tread": packs.number("min_depth")})
    path = folder.path / name
    path.write_bytes(path.read_bytes() + "# stra\u00dfe\n".encode("latin-1"))
    assert "is not UTF-8" in told(folder, path.name)


def test_a_python_file_that_is_not_utf_8_is_told(packs):
    folder = packs([{}])
    (folder.path / "rules.py").write_bytes("# stra\u00dfe\nRULES = []\n".encode("latin-1"))
    assert "cannot be read" in told(folder, "rules.py")


def test_a_missing_file_is_told(packs, tmp_path):
    assert "there is no such file" in told(packs([{}], sources=None), "sources.toml")
    assert "there is no such file" in told(PackFolder(tmp_path / "nowhere"), "pack.toml")


def test_a_file_that_is_a_folder_is_told(packs, tmp_path):
    folder = packs([{}], sources=None)
    (folder.path / "sources.toml").mkdir()
    assert "cannot be read" in told(folder, "sources.toml")


def test_a_repeated_key_is_told(packs):
    folder = packs(parameters={"tread": packs.number("min_depth") + packs.number("min_depth")})
    assert "line" in told(folder, "tread.toml")


def test_an_empty_pack_is_refused(packs):
    assert "the pack is empty" in told(packs(), "empty")


# --- sources ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ('[b]\nissuer = "I"\ngrade = "read"\n', "b.title: must be given"),
        ('[b]\ntitle = "T"\ngrade = "read"\n', "b.issuer: must be given"),
        ('[b]\ntitle = "T"\nissuer = "I"\n', "b.grade: must be given"),
        (
            '[b]\ntitle = "T"\nissuer = "I"\ngrade = "primary"\n',
            "b.grade: 'primary' is no grade (read, reproduction",
        ),
        (
            '[b]\ntitle = "T"\nissuer = "I"\ngrade = "read"\nisuer = "J"\n',
            "isuer: unknown key (did you mean issuer?)",
        ),
        ('[b]\ntitle = "T"\nissuer = "I"\ngrade = "read"\nedition = 2001\n', "b.edition: 2001 is not a text"),
        (
            '[b]\ntitle = "T"\nissuer = "I"\ngrade = "read"\nread_on = "2001"\n',
            "b.read_on: '2001' is not a day",
        ),
        ('b = "T"\n', "b: is not a table"),
    ],
)
def test_a_faulty_source(packs, text, says):
    from_ = "sources.toml"
    good = '[road_act]\ntitle = "T"\nissuer = "I"\ngrade = "read"\n'
    assert told(packs([{}], sources=text + good), says).startswith(from_)


def test_a_faulty_source_is_told_with_its_line(packs):
    text = '[road_act]\ntitle = "T"\nissuer = "I"\ngrade = "read"\n\n[b]\ntitle = "T"\ngrade = "read"\n'
    assert told(packs([{}], sources=text), "b.issuer").startswith("sources.toml:6: ")


# --- rules ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("rule", "says"),
    [
        ({"id": None}, "id: must be given"),
        ({"title": None}, "title: must be given"),
        ({"tie": None}, "tie: must be given"),
        ({"gravity": None}, "gravity: must be given"),
        ({"id": "xa.tread"}, "not of the form pack.subject.aspect"),
        ({"id": "xa.tyre.Tread"}, "not of the form pack.subject.aspect"),
        ({"id": "xb.tyre.tread"}, "does not begin with 'xa'"),
        ({"id": 5}, "id: 5 is not text"),
        ({"title": 5}, "title: 5 is not text"),
        ({"shape": "at_leest"}, "unknown shape 'at_leest' (did you mean at_least?)"),
        ({"field": "vehicle.monitoring_work"}, "did you mean vehicle.monitoring_works"),
        ({"field": "tyre.pressure"}, "a number stands where a condition is needed"),
        ({"shape": "forbidden", "field": "tyre.pressure"}, "a number stands where a condition is needed"),
        ({"tie": "used"}, "'used' is no tie (did you mean used_in?)"),
        ({"basis": "habit"}, "'habit' is no basis (one of law, standard"),
        ({"gravity": "advice"}, "'advice' is no gravity (did you mean advise?)"),
        ({"subject": "wheel"}, "'wheel' is no subject"),
        ({"subject": "axel"}, "did you mean axle"),
        ({"gravitas": "hold"}, "gravitas: unknown key (did you mean gravity?)"),
        ({"cite": None}, "cite: every value and rule must be cited"),
        ({"cite": {"source": "rode_act", "at": "art. 1"}}, "no source 'rode_act' (did you mean road_act?)"),
        ({"cite": {"source": "road_act"}}, "cite.at: the place in the source is not given"),
        ({"cite": {"at": "art. 1"}}, "cite: names no source"),
        ({"cite": {"at": "art. 1", "grade": "read"}}, "cite: names no source"),
        ({"cite": {"source": "road_act", "at": "a", "grade": "good"}}, "'good' is no grade"),
        ({"from": "2001-01-01"}, "starts is '2001-01-01', which is not a day"),
        ({"until": 5}, "ends is 5, which is not a day"),
        ({"from": date(2001, 1, 1), "until": date(2000, 1, 1)}, "ends on 2000-01-01, before it starts"),
        ({"from": "unseen"}, "seen_on: a start not seen needs the day"),
        ({"seen_on": date(2001, 1, 1)}, 'seen_on: stands only beside from = "unseen"'),
        ({"spare": "yes"}, "spare: 'yes' is neither true nor false"),
        ({"supersedes": 5}, "xa.tyre.tread_depth"),
        (TREAD, "no parameter 'xa.tread.min_depth'"),
        (TREAD | {"limit": "1.6 mm"}, "xa.tyre.tread_depth"),
        (TREAD | {"limit": None}, "'limit' must be the name of a parameter"),
        (TREAD | {"limit": 1.6}, "'limit' must be the name of a parameter"),
        ({"shape": "between", "field": "tyre.pressure", "limit": "a.b"}, "needs two parameters"),
        ({"shape": "one_of", "field": "tyre.construction", "limit": "radial"}, "needs a list"),
        ({"shape": "one_of", "field": "tyre.construction", "limit": ["radail"]}, "did you mean radial"),
        ({"shape": "same_across", "field": "tyre.construction"}, "make the axle or vehicle its subject"),
        ({"shape": "same_across", "field": "tyre.size", "subject": "axle", "limit": "a.b"}, "takes no limit"),
        ({"field": "tyre.studded", "subject": "vehicle"}, "use every(...)"),
        ({"basis": "safety", "supersedes": "xb.a.b"}, "supersedes nothing"),
        ({"when": "M1"}, "'when' must be a table"),
        ({"when": {"vehicle.categry": "M1"}}, "did you mean vehicle.category"),
        ({"when": {"vehicle.category": "M4"}}, "'M4' is not a word"),
        ({"when": {"vehicle.category": ["M1", "M4"]}}, "'M4' is not a word"),
        ({"when": {"vehicle.category": []}}, "at least one"),
        ({"when": {"vehicle.category": False}}, "a word stands where a condition is needed"),
        ({"when": {"vehicle.category": True}}, "a word stands where a condition is needed"),
        (
            {"when": {"vehicle.gross_mass": {"atmost": "3.5 t"}}},
            "unknown test 'atmost' of vehicle.gross_mass",
        ),
        ({"when": {"vehicle.gross_mass": {"atmost": "3.5 t"}}}, "did you mean at_most?"),
        ({"when": {"vehicle.gross_mass": {}}}, "tested by nothing"),
        ({"when": {"vehicle.gross_mass": {"at_most": 3500}}}, "write '3500 kg'"),
        ({"when": {"vehicle.gross_mass": {"at_most": "3.5 m"}}}, "m measures length"),
        ({"when": {"vehicle.gross_mass": 3500}}, "write '3500 kg'"),
        ({"when": {"vehicle.category": {"one_of": "M1"}}}, "needs a list"),
        ({"when": {"vehicle.category": {"none_of": "M1"}}}, "needs a list"),
        ({"when": {"parameter:winter.season": "yes"}}, "tested by true or false"),
        ({"when": {"parameter:winter.season": True}}, "no parameter 'xa.winter.season'"),
        ({"when": {"tyre.studded": True}, "subject": "vehicle"}, "use every(...)"),
    ],
)
def test_a_faulty_rule_is_told_with_file_line_and_id(packs, rule, says):
    line = told(packs([rule]), says)
    assert line.startswith("rules.toml")
    if "id" not in rule:
        assert "xa.tyre.tread_depth" in line


def test_the_line_of_the_second_rule(packs):
    folder = packs([{}, {"id": "xa.tyre.other", "shape": "at_leest"}])
    starts = [
        n
        for n, text in enumerate((folder.path / "rules.toml").read_text().splitlines(), 1)
        if text == "[[rule]]"
    ]
    assert told(folder, "at_leest").startswith(f"rules.toml:{starts[1]}: xa.tyre.other")


@pytest.mark.parametrize("text", ["rule = 5\n", "[rule]\nid = 'xa.a.b'\n"])
def test_rules_that_are_no_list(packs, text):
    assert "[[rule]]" in told(packs(text), "is not a list of rules")


def test_a_rule_id_stands_once(packs):
    assert "never reused" in told(packs([{}, {}]), "is there twice")


def test_everything_wrong_comes_at_once(packs):
    folder = packs(
        [{"shape": "at_leest"}, {"id": "xa.tyre.b", "tie": "used", "gravitas": 1}],
        {"tread": '[min_depth]\ndoc = "D"\n'},
        sources='[road_act]\ntitle = "T"\ngrade = "read"\n',
        api=7,
        wersion="1",
    )
    found = "\n".join(faults(folder))
    for says in (
        "api: is 7",
        "wersion",
        "road_act.issuer",
        "min_depth.unit",
        "min_depth.value",
        "at_leest",
        "gravitas",
    ):
        assert says in found
    for file in ("pack.toml", "sources.toml", "parameters/tread.toml", "rules.toml"):
        assert file in found


def test_the_error_is_a_value_error_with_its_faults(packs):
    with pytest.raises(ValueError, match="pack 'xa': 1 fault"):
        packs([{"shape": "at_leest"}]).load()


# --- rules in Python ----------------------------------------------------------------------------------

PYTHON = """
from stemlore.rules import Cite, Rule, field

RULES = [
    Rule(
        id="xa.vehicle.works",
        title="Monitoring works",
        subject="vehicle",
        check=field("vehicle.monitoring_works"),
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("road_act", "art. 3"),
    ),
]
"""


def test_a_rule_in_python_knows_its_file_and_line(packs):
    rule = packs(python=PYTHON).load().rules["xa.vehicle.works"]
    assert rule.where.endswith("rules.py:5")


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("raise OSError('no disk')", "OSError: no disk"),
        ("import sys; sys.exit(3)", "SystemExit: 3"),
        ("def broken(:", "SyntaxError"),
        ("RULES = 5", "has no list RULES of rules"),
        ("RULES = ['a rule']", "has no list RULES of rules"),
        ("", "has no list RULES of rules"),
        (
            PYTHON.replace("vehicle.monitoring_works", "vehicle.monitoring_work"),
            "did you mean vehicle.monitoring_works",
        ),
        (PYTHON.replace('"used_in"', '"used"'), "'used' is no tie"),
        (
            PYTHON.replace('field("vehicle.monitoring_works")', 'field("vehicle.category") == "M1"'),
            ".equals()",
        ),
        (PYTHON.replace("xa.vehicle", "xb.vehicle"), "does not begin with 'xa'"),
        (PYTHON.replace('"road_act"', '"rode_act"'), "did you mean road_act?"),
        (PYTHON.replace('"road_act"', '""'), "needs a source"),
    ],
)
def test_python_that_is_wrong_becomes_a_fault(packs, text, says):
    folder = packs(python=text or "# nothing\n")
    if says == "needs a source":
        (folder.path / "rules.py").write_text(text.replace('"art. 3"', '"art. 3", "read"'))
    told(folder, says)


def test_python_and_toml_share_one_set_of_ids(packs):
    assert "twice" in told(packs([{"id": "xa.vehicle.works"}], python=PYTHON), "xa.vehicle.works")


def test_python_rules_leave_no_module_behind(packs):
    before = set(sys.modules)
    packs(python=PYTHON).load()
    assert set(sys.modules) == before


# --- in a rulebook --------------------------------------------------------------------------------------


def test_a_faulty_pack_that_is_asked_for_is_an_error_with_its_cause(packs):
    with pytest.raises(PackLoadError, match="at_leest") as caught:
        packs.book(packs([{"shape": "at_leest"}]))
    assert isinstance(caught.value.__cause__, PackError)


def test_the_grade_of_a_rule_travels_into_the_finding(packs):
    book = packs.book(packs([{"cite": {"source": "hearsay", "at": "p. 3"}}]))
    found = check(Job(vehicle=Vehicle(monitoring_works=True)), book).findings
    mine = next(f for f in found if f.pack == "xa")
    assert mine.outcome is Outcome.PASS
    assert mine.grade == "secondary"
    assert mine.version == "1"
    assert str(mine.citation) == "A journal that tells of the act, p. 3 [told by a secondary source]"


# --- fingerprint ----------------------------------------------------------------------------------------


def test_the_fingerprint_is_of_the_content(packs, tmp_path):
    one = packs([{}], {"tread": packs.number("min_depth")})
    same = packs([{}], {"tread": packs.number("min_depth")}, folder="elsewhere")
    other = packs([{}], {"tread": packs.number("min_depth", "1.7 mm")}, folder="other")
    assert one.load().fingerprint == same.load().fingerprint
    assert one.load().fingerprint != other.load().fingerprint
    for name in ("rules.toml", "pack.toml", "sources.toml"):
        (same.path / name).write_bytes((same.path / name).read_bytes().replace(b"\n", b"\r\n"))
    assert PackFolder(same.path).load().fingerprint == one.load().fingerprint
