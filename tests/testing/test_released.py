"""Rule ids once released are never lost."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from stemlore.errors import PackError
from stemlore.rules import PackFolder
from stemlore.testing import read_released, write_released

NAME = "xa: released rules are not lost"
PACKS = Path(__file__).parents[2] / "src" / "stemlore" / "packs"


def lose(author: Any) -> None:
    """Rename a rule, as if nobody had it."""
    author.alter("rules.toml", 'id = "xa.valve.dust"', 'id = "xa.valve.dirt"')


def test_what_is_written_is_read(author: Any) -> None:
    assert read_released(author.folder) == {"1.0": tuple(sorted(PackFolder(author.folder).load().rules))}
    text = (author.folder / "released.toml").read_text("utf-8")
    assert write_released(author.folder) == author.folder / "released.toml"
    assert (author.folder / "released.toml").read_text("utf-8") == text


def test_a_lost_rule_is_told(author: Any) -> None:
    lose(author)
    assert "xa.valve.dust was released in 1.0 and is lost" in author.told(NAME)
    with pytest.raises(PackError, match=r"xa\.valve\.dust: was released in 1\.0 and is lost"):
        write_released(author.folder)


def test_a_retired_rule_is_not_lost(author: Any) -> None:
    lose(author)
    head = author.folder / "pack.toml"
    entry = '[retired."xa.valve.dust"]\non = 2026-01-01\nwhy = "renamed"\nreplaced_by = "xa.valve.dirt"\n'
    head.write_text(head.read_text("utf-8") + entry, "utf-8")
    author.cases()[NAME].check()
    with pytest.raises(PackError, match="is in version 1.0, which is released"):
        write_released(author.folder)
    author.alter("pack.toml", 'version = "1.0"', 'version = "2.0"')
    write_released(author.folder)
    assert list(read_released(author.folder)) == ["1.0", "2.0"]
    assert "xa.valve.dirt" in read_released(author.folder)["2.0"]


@pytest.mark.parametrize(
    "entry, wanted",
    [
        ('why = "renamed"', "no on"),
        ("on = 2026-01-01", "no why"),
        ('on = 2026-01-01\nwhy = "x"\nreplaced_by = "xa.valve.nothing"', "which is not there"),
    ],
)
def test_a_retirement_says_when_and_why(author: Any, entry: str, wanted: str) -> None:
    head = author.folder / "pack.toml"
    head.write_text(head.read_text("utf-8") + f'[retired."xa.valve.old"]\n{entry}\n', "utf-8")
    assert wanted in author.told(NAME)


def test_a_pack_without_the_file_is_told_how_to_write_it(author: Any) -> None:
    (author.folder / "released.toml").unlink()
    assert read_released(author.folder) == {}
    assert "write_released(" in author.told(NAME)


@pytest.mark.parametrize("text", ['["1.0"]\nrules = "xa.a.b"\n', "rules = [\n", "[a]\nrule = []\n"])
def test_a_broken_file_is_told(author: Any, text: str) -> None:
    (author.folder / "released.toml").write_text(text, "utf-8")
    with pytest.raises(PackError):
        read_released(author.folder)
    assert "released.toml" in author.told(NAME)


@pytest.mark.parametrize("name", ["de", "eu", "us", "world"])
def test_our_packs_have_released_what_they_hold(name: str) -> None:
    assert read_released(PACKS / name)
