"""Opening a rulebook of every place we have a pack for, beside reading the same TOML with tomllib.

Run it by hand: ``python tests/benchmarks/all_packs.py [--markdown]``. Files that
a pack's tests alone read (cases, released ids) are read by neither side.
"""

from __future__ import annotations

import sys
import tomllib
from pathlib import Path
from time import perf_counter

import attrs
from one_car import _forget
from timing import Row, compared, markdown, plain

from stemlore.rules import PackFolder, discovery, rulebook

DAY = "2026-11-25"
NOT_LOADED = {"cases.toml", "released.toml"}


def _files(folder: Path) -> list[Path]:
    return [file for file in sorted(folder.rglob("*.toml")) if file.name not in NOT_LOADED]


def _cold(installed: discovery.Discovery) -> None:
    _forget()
    packs = {
        name: attrs.evolve(each, folder=PackFolder(each.folder.path))
        for name, each in installed.packs.items()
    }
    discovery._kept[False] = attrs.evolve(installed, packs=packs)


def rows(rounds: int = 5) -> list[Row]:
    """Return the rows: all places at once, and the place with most packs in force."""
    installed = discovery.discover()
    assert not installed.failed, installed.failed
    places = sorted({each.place for each in installed.packs.values()})
    out: list[Row] = []
    for what, asked in ((f"rulebooks of all {len(places)} places", places), ("a rulebook of DE", ["DE"])):
        times: dict[str, float] = {}
        taken: dict[str, list[float]] = {"toml": [], "cold": [], "again": []}
        for _ in range(rounds):
            _cold(installed)
            start = perf_counter()
            books = [rulebook(place, on=DAY) for place in asked]
            taken["cold"].append(perf_counter() - start)
            start = perf_counter()
            again = [rulebook(place, on=DAY) for place in asked]
            taken["again"].append(perf_counter() - start)
            assert [list(book.rules) for book in again] == [list(book.rules) for book in books]
            names = {name for book in books for name in book.packs}
            files = [file for name in sorted(names) for file in _files(installed.packs[name].folder.path)]
            start = perf_counter()
            for file in files:
                tomllib.loads(file.read_text("utf-8"))
            taken["toml"].append(perf_counter() - start)
        times = {name: sorted(each)[len(each) // 2] for name, each in taken.items()}
        out.append(Row(f"the TOML of {what}, with tomllib ({len(files)} files)", times["toml"]))
        cold = compared(f"{what}, cold", times, "toml", most=4, of="cold")
        out.append(attrs.evolve(cold, against="tomllib"))
        out.append(
            attrs.evolve(
                compared(f"{what}, again", times, "cold", most=0.01, of="again"), against="opening cold"
            )
        )
    return out


if __name__ == "__main__":
    print((markdown if "--markdown" in sys.argv else plain)(rows()))
