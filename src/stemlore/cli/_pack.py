"""The commands for authors of packs: begin one, and check one while it is written."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any
from unittest import SkipTest

import attrs
import click

from stemlore.cli._new_pack import write_package
from stemlore.cli._page import Page, counted
from stemlore.errors import PackError, StemloreError
from stemlore.rules import Pack, PackFolder

__all__ = ["pack_commands"]

_MARK = re.compile(r"\bTODO\b:?\s*(.*)")


@click.group("pack", short_help="Begin a pack, or check one that is being written.")
def pack_commands() -> None:
    """Begin a pack of rules for a place, or check one that is being written."""


@pack_commands.command("new", short_help="Write a package that holds a pack of a place.")
@click.argument("code", metavar="ISO-CODE")
@click.argument("directory", type=click.Path(path_type=Path, file_okay=False))
def new_pack(code: str, directory: Path) -> None:
    """Write into DIRECTORY an installable package for the place ISO-CODE, such as XA or US-CA.

    It holds one worked rule, marked as an example, with cases and tests; nothing is overwritten.
    """
    page = Page()
    write_package(page, code, directory)
    page.write()


@pack_commands.command("check", short_help="Tell everything that is wrong with a pack.")
@click.argument("directory", type=click.Path(path_type=Path, exists=True, file_okay=False))
def check_pack(directory: Path) -> int:
    """Tell everything that is wrong with the packs in DIRECTORY or below its src.

    A pack need not be installed. Its files are read, its cases run, and everything is asked that
    every pack must satisfy. Lines marked TODO are listed, and are no fault.

    \b
    Exit code:
      0  nothing is wrong
      1  something is
      2  there is no pack, or the command is not understood
    """
    folders = _folders(directory)
    if not folders:
        raise click.UsageError(f"there is no pack.toml in {directory} nor below {directory / 'src'}")
    page = Page()
    read = [_read(folder) for folder in folders]
    wrong = 0
    for each in read:
        beside = [other.pack for other in read if other.pack is not None and other is not each]
        problems = [*each.faults, *_entry_point(directory, each), *each.kit(beside)]
        wrong += len(problems)
        _print(page, each, problems)
    page.write()
    return 1 if wrong else 0


def _folders(directory: Path) -> list[Path]:
    """Return the folders of packs: the directory itself, or those below it or its src."""
    if (directory / "pack.toml").is_file():
        return [directory]
    found = [*directory.glob("*/pack.toml"), *directory.glob("src/**/pack.toml")]
    return sorted({path.parent for path in found if path.is_file()})


@attrs.frozen(kw_only=True, eq=False)
class _Read:
    """A pack as far as it can be read."""

    folder: Path
    pack: Pack | None
    faults: tuple[str, ...]

    def kit(self, beside: Sequence[Pack]) -> Iterator[str]:
        """Yield what the pack does not satisfy; nothing while it cannot be read."""
        from stemlore.testing import conformance_cases

        if self.faults:
            return
        for case in conformance_cases(PackFolder(self.folder), also=tuple(beside)):
            try:
                case.check()
            except AssertionError as error:
                yield str(error)
            except SkipTest:
                continue
            except Exception as error:  # whatever a pack's code does must end in a line
                yield f"{case}: {type(error).__name__}: {error}"


def _read(folder: Path) -> _Read:
    """Read the files of a pack, and collect all that is wrong with any of them."""
    from stemlore.testing import read_alike, read_cases, read_released

    faults: dict[str, None] = {}  # each once: several readers may stumble over one file
    pack: Pack | None = None
    try:
        pack = PackFolder(folder).load()
    except StemloreError as error:
        faults.update(_told(error))
    for reader in (read_cases, read_alike, read_released):
        try:
            reader(folder)
        except StemloreError as error:
            faults.update(_told(error))
    return _Read(folder=folder, pack=pack, faults=tuple(faults))


def _told(error: StemloreError) -> dict[str, None]:
    faults = error.faults if isinstance(error, PackError) else (error,)
    return dict.fromkeys(map(str, faults))


def _entry_point(directory: Path, of: _Read) -> Iterator[str]:
    """Yield what keeps the pack from being found once it is installed."""
    project = directory / "pyproject.toml"
    if not project.is_file():
        return  # a folder alone, tried with also=[PackFolder(...)]
    try:
        table: dict[str, Any] = tomllib.loads(project.read_text("utf-8"))
        points = table.get("project", {}).get("entry-points", {}).get("stemlore.packs", {})
        named = {name: str(value).partition(":")[0] for name, value in points.items()}
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError, AttributeError) as error:
        yield f"pyproject.toml: cannot be read: {error}"
        return
    if of.pack is None:
        return
    if of.pack.id not in named:
        yield (
            f"pyproject.toml: no entry point {of.pack.id!r} in the group stemlore.packs, so it would not be "
            f'found; write [project.entry-points."stemlore.packs"] {of.pack.id} = "{of.folder.name}:PACK"'
        )
    elif named[of.pack.id].rpartition(".")[2] != of.folder.name:
        yield (
            f"pyproject.toml: the entry point {of.pack.id!r} names the module {named[of.pack.id]}, "
            f"but the pack lies in {of.folder.name}"
        )
    if not (of.folder / "__init__.py").is_file():
        yield f"{of.folder.name}/__init__.py: there is no such file; write PACK = pack_folder(__file__) in it"


def _todos(folder: Path) -> Iterator[str]:
    for path in sorted(folder.rglob("*")):
        if path.suffix in (".toml", ".py") and path.is_file():
            for number, line in enumerate(path.read_text("utf-8", "replace").splitlines(), 1):
                if found := _MARK.search(line):
                    yield f"{path.relative_to(folder)}:{number}: {found[1] or line.strip()}"


def _print(page: Page, of: _Read, problems: Sequence[str]) -> None:
    pack = of.pack
    page.heading(f"{of.folder}: {f'pack {pack.id} {pack.version}' if pack else 'a pack that cannot be read'}")
    if problems:
        page.line(f"{counted(len(problems), 'thing is', 'things are')} wrong:", indent=2, style="red")
        for problem in problems:
            first, *rest = problem.splitlines()
            page.line(first, indent=4, hang=2)
            for line in rest:
                page.line(line.strip(), indent=6, hang=4)
    elif pack is not None:
        page.line(
            f"Nothing is wrong: {counted(len(pack.rules), 'rule')}, "
            f"{counted(len(pack.parameters), 'parameter')}, {counted(len(pack.sources), 'source')}.",
            indent=2,
            style="green",
        )
    if marked := list(_todos(of.folder)):
        page.line(f"{counted(len(marked), 'line is', 'lines are')} marked TODO:", indent=2)
        for each in marked:
            page.line(each, indent=4, hang=2)
