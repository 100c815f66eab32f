"""Installed packs: what is broken is reported and harmless, unless it is asked for."""

from __future__ import annotations

import sys
import textwrap
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from stemlore.errors import PackError, PackLoadError
from stemlore.rules import PackFolder, discover, pack, rulebook
from stemlore.rules.discovery import forget

OWN_PACKS = Path(__file__).parents[2] / "src" / "stemlore" / "packs"
OWN = {file.parent.name for file in OWN_PACKS.glob("*/pack.toml")}


@pytest.fixture
def installed(tmp_path, monkeypatch, packs):
    """Put a distribution on the path, with the module that its entry point names."""
    site = tmp_path / "site"
    site.mkdir()
    monkeypatch.syspath_prepend(str(site))
    monkeypatch.delenv("STEMLORE_NO_PLUGINS", raising=False)
    modules = []

    def install(name, code="", *, entry="xa", distribution="", metadata=True, points="", rules=({},), **head):
        module = f"pack_of_{name}"
        modules.append(module)
        (site / module).mkdir()
        code = code or "from stemlore.rules import pack_folder\nPACK = pack_folder(__file__)\n"
        (site / module / "__init__.py").write_text(textwrap.dedent(code))
        folder = packs(list(rules), id=head.pop("id", entry), folder=f"site/{module}", **head)
        info = site / f"{name}-1.0.dist-info"
        info.mkdir()
        if metadata:
            (info / "METADATA").write_text(
                f"Metadata-Version: 2.1\nName: {distribution or name}\nVersion: 1.0\n"
            )
        (info / "entry_points.txt").write_text(points or f"[stemlore.packs]\n{entry} = {module}:PACK\n")
        forget()
        return folder

    yield install
    forget()
    for module in modules:
        sys.modules.pop(module, None)


def test_our_own_packs_come_through_the_same_door():
    found = discover()
    assert set(found.packs) >= OWN
    assert {found.packs[name].distribution for name in OWN} == {"stemlore"}
    assert found.at("DE")[0].id == "de"


def test_an_installed_pack_is_found_with_its_distribution(installed):
    installed("good")
    found = discover().packs["xa"]
    assert (found.place, found.distribution, found.version) == ("XA", "good", "1.0")
    book = rulebook("XA", on="2024-06-01")
    assert book.coverage.complete
    assert "xa.tyre.tread_depth" in book.rules


BROKEN = {
    "raises": ("raise OSError('no disk')", "OSError: no disk"),
    "exits": ("import sys; sys.exit(3)", "SystemExit: 3"),
    "imports": ("import a_module_that_is_not_there", "ModuleNotFoundError"),
    "syntax": ("def broken(:", "SyntaxError"),
    "lacks": ("OTHER = 1", "AttributeError"),
    "other": ("PACK = {'id': 'xa'}", "is a dict, not what pack_folder() returns"),
    "none": ("PACK = None", "is a NoneType"),
    "class": ("from stemlore.rules import PackFolder as PACK", "is a type"),
}


@pytest.mark.parametrize("kind", BROKEN)
def test_broken_and_not_asked_for_is_reported_and_harmless(installed, kind):
    code, why = BROKEN[kind]
    installed("broken", code)
    found = discover()
    assert [(each.name, each.distribution, each.version) for each in found.failed] == [
        ("xa", "broken", "1.0")
    ]
    assert why in found.failed[0].error
    assert set(found.packs) >= OWN
    assert rulebook("DE", on="2024-06-01").coverage.complete
    assert not rulebook("XB", on="2024-06-01").coverage.complete


@pytest.mark.parametrize("kind", ["raises", "exits", "imports"])
def test_broken_and_asked_for_is_an_error_with_its_cause(installed, kind):
    installed("broken", BROKEN[kind][0])
    for ask in (
        lambda: pack("xa"),
        lambda: rulebook("XA", on="2024-06-01"),
        lambda: rulebook("XA-1", on="2024-06-01"),
    ):
        with pytest.raises(PackLoadError, match="xa") as caught:
            ask()
        assert BROKEN[kind][1].split(":")[0] in type(caught.value.__cause__).__name__
        assert "broken" in str(caught.value)


def test_a_pack_whose_rules_are_broken_is_an_error_where_it_is_asked_for(installed):
    installed("broken", rules=[{"shape": "at_leest"}])
    assert "xa" in discover().packs
    rulebook("DE", on="2024-06-01")
    with pytest.raises(PackLoadError, match="at_leest") as caught:
        rulebook("XA", on="2024-06-01")
    assert isinstance(caught.value.__cause__, PackError)


def test_an_error_of_a_pack_is_an_import_error(installed):
    installed("broken", BROKEN["raises"][0])
    with pytest.raises(ImportError):
        pack("xa")


@pytest.mark.parametrize(
    ("head", "why"),
    [
        ({"api": 2}, "is written for API 2; this stemlore reads 1"),
        ({"api": None}, "is written for API None; this stemlore reads 1"),
        ({"id": "xb"}, "the entry point is named 'xa', the pack 'xb'"),
        ({"place": None}, "does not say its place"),
    ],
)
def test_a_head_that_does_not_fit_is_reported(installed, head, why):
    installed("odd", **head)
    assert [each.error for each in discover().failed] == [why]
    with pytest.raises(PackLoadError, match="xa"):
        pack("xa")


def test_a_head_that_cannot_be_read_is_reported(installed):
    folder = installed("odd")
    (folder.path / "pack.toml").unlink()
    assert "there is no such file" in discover().failed[0].error
    (folder.path / "pack.toml").mkdir()
    sys.modules.pop("pack_of_odd")
    forget()
    assert "cannot be read" in discover().failed[0].error


def test_of_two_packs_with_one_id_neither_wins(installed):
    installed("one")
    installed("two")
    found = discover()
    assert "xa" not in found.packs
    assert {each.distribution for each in found.failed} == {"one", "two"}
    with pytest.raises(PackLoadError, match="in one and in two|in two and in one"):
        rulebook("XA", on="2024-06-01")
    assert rulebook("DE", on="2024-06-01").coverage.complete


def test_a_pack_cannot_take_the_place_of_one_of_ours(installed):
    installed("thief", entry="de", place="DE", rules=[{"id": "de.tyre.tread_depth"}])
    with pytest.raises(PackLoadError, match="two packs have the id 'de'"):
        rulebook("DE", on="2024-06-01")


def test_a_broken_pack_that_holds_everywhere_is_never_left_out_in_silence(installed):
    installed("thief", entry="world", place="world", rules=[{"id": "world.tyre.tread_depth"}])
    with pytest.raises(PackLoadError, match="world"):
        rulebook("DE", on="2024-06-01")


@pytest.mark.parametrize("switch", ["1", "yes"])
def test_plugins_can_be_switched_off(installed, monkeypatch, switch):
    installed("good")
    assert "xa" in discover().packs
    monkeypatch.setenv("STEMLORE_NO_PLUGINS", switch)
    assert set(discover().packs) == OWN
    assert not rulebook("XA", on="2024-06-01").coverage.complete
    monkeypatch.setenv("STEMLORE_NO_PLUGINS", "0")
    assert "xa" in discover().packs
    assert rulebook("XA", on="2024-06-01").coverage.complete


def test_switched_off_plugins_are_not_even_imported(installed, monkeypatch):
    monkeypatch.setenv("STEMLORE_NO_PLUGINS", "1")
    installed("broken", BROKEN["raises"][0])
    assert discover().failed == ()
    assert "pack_of_broken" not in sys.modules


def test_metadata_that_cannot_be_read_is_harmless(installed):
    installed("good")
    installed("mangled", entry="xb", points="[stemlore.packs]\nno equals sign here\n")
    found = discover()
    assert "xa" in found.packs
    assert set(found.packs) >= OWN
    assert [each.distribution for each in found.failed] == ["mangled"]


def test_a_distribution_without_a_name_is_harmless(installed):
    installed("nameless", metadata=False)
    found = discover()
    assert set(found.packs) >= OWN


def test_what_was_found_is_kept_until_it_is_forgotten(installed):
    installed("good")
    first = discover()
    assert discover() is first
    forget()
    assert discover() is not first


def test_books_are_made_anew_after_forgetting(installed):
    folder = installed("good")
    before = rulebook("XA", on="2024-06-01")
    rules = folder.path / "rules.toml"
    rules.write_text(rules.read_text().replace("tread_depth", "tread_left"))
    sys.modules.pop("pack_of_good")
    forget()
    after = rulebook("XA", on="2024-06-01")
    assert "xa.tyre.tread_depth" in before.rules
    assert "xa.tyre.tread_left" in after.rules


def test_many_threads_see_one_discovery(installed):
    installed("good")
    with ThreadPoolExecutor(8) as pool:
        found = set(map(id, pool.map(lambda _: discover(), range(32))))
    assert len(found) == 1


def test_what_is_not_installed_says_what_is():
    with pytest.raises(PackLoadError, match="not installed.*de, .*eu, .*us, .*world"):
        pack("xq")


# --- packs beside those installed ----------------------------------------------------------------------


def test_a_folder_takes_the_place_of_an_installed_pack(installed, packs):
    installed("broken", BROKEN["raises"][0])
    mended = packs([{}])
    assert rulebook("XA", on="2024-06-01", also=[mended]).coverage.complete


def test_two_folders_with_one_id_are_an_error(packs):
    with pytest.raises(PackError, match="is also that of"):
        rulebook("XA", on="2024-06-01", also=[packs([{}]), packs([{}], folder="elsewhere")])


@pytest.mark.parametrize("head", [{"place": None}, {"place": 5}])
def test_a_folder_that_does_not_say_its_place_is_an_error(packs, head):
    with pytest.raises(PackError, match="place: must be given"):
        rulebook("XA", on="2024-06-01", also=[packs([{}], **head)])


def test_a_folder_that_is_not_there_is_an_error(tmp_path):
    with pytest.raises(PackError, match="no such file"):
        rulebook("XA", on="2024-06-01", also=[PackFolder(tmp_path / "nowhere")])
