"""Rule ids once released: never lost, never reused.

``released.toml`` lies beside the pack's other files and is written by
:func:`write_released` at every release::

    ["2026.1"]
    rules = ["xa.tyre.tread_depth", "xa.valve.pressure"]

A rule that goes stays in ``retired`` of ``pack.toml``.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from pathlib import Path

from stemlore.errors import Fault, PackError
from stemlore.rules import Pack, PackFolder

__all__ = ["read_released", "released_problems", "write_released"]

_NAME = "released.toml"
_HEAD = "# Rule ids of each released version, written at its release; none of them is ever lost or reused.\n"


def read_released(folder: Path | str) -> dict[str, tuple[str, ...]]:
    """Read the rule ids of each released version; empty where nothing was released.

    Raises
    ------
    PackError
        If the file is broken.
    """
    folder = Path(folder)
    try:
        table = tomllib.loads((folder / _NAME).read_text("utf-8"))
    except FileNotFoundError:
        return {}
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise PackError(f"pack in {folder.name}", [Fault("", str(error), where=_NAME)]) from error
    faults: list[Fault] = []
    out: dict[str, tuple[str, ...]] = {}
    for version, entry in table.items():
        rules = entry.get("rules") if isinstance(entry, Mapping) and set(entry) == {"rules"} else None
        if not isinstance(rules, list) or not all(isinstance(each, str) for each in rules):
            faults.append(Fault(version, "is not a table with a list of rule ids", 'rules = ["..."]', _NAME))
        else:
            out[version] = tuple(rules)
    if faults:
        raise PackError(f"pack in {folder.name}", faults)
    return out


def released_problems(pack: Pack, folder: Path) -> Iterator[str]:
    """Yield what was released and is lost, and what is retired without day or reason."""
    try:
        released = read_released(folder)
    except PackError as error:
        yield str(error)
        return
    for version, rules in released.items():
        for name in rules:
            if name not in pack.rules and name not in pack.retired:
                yield (
                    f"{name} was released in {version} and is lost; bring it back, or write "
                    f'[retired."{name}"] with on and why in pack.toml'
                )
    if not released and not (folder / _NAME).exists():  # empty before the first release
        yield f"there is no {_NAME}; write it at the release: write_released({str(folder)!r})"
    for name, entry in pack.retired.items():
        told = entry if isinstance(entry, Mapping) else {}
        yield from (f"pack.toml [retired.{name}]: no {key}" for key in ("on", "why") if not told.get(key))
        follower = told.get("replaced_by")
        own = isinstance(follower, str) and follower.startswith(f"{pack.id}.")
        if own and follower not in pack.rules and follower not in pack.retired:
            yield f"pack.toml [retired.{name}]: replaced_by {follower}, which is not there"


def write_released(folder: Path | str) -> Path:
    """Write the rule ids of the pack's version into ``released.toml``, and return its path.

    Written again for the same version, ids may be added, as before the release.

    Raises
    ------
    PackError
        If the pack or the file is broken, or an id once released would be lost.
    """
    folder = Path(folder)
    pack = PackFolder(folder).load()
    released = read_released(folder)
    lost = [
        Fault(name, f"was released in {version} and is lost", f'write [retired."{name}"]', "pack.toml")
        for version, rules in released.items()
        for name in rules
        if name not in pack.rules and name not in pack.retired
    ]
    # of this version nothing may go, not even into retirement: it is out
    lost += [
        Fault(name, f"is in version {pack.version}, which is released", "raise version", "pack.toml")
        for name in released.get(pack.version, ())
        if name in pack.retired
    ]
    if lost:
        raise PackError(f"pack {pack.id!r}", lost)
    released[pack.version] = tuple(sorted(pack.rules))
    parts = [_HEAD]
    for version, rules in released.items():
        listed = "".join(f'    "{name}",\n' for name in rules)
        parts.append(f'\n["{version}"]\nrules = [\n{listed}]\n')
    path = folder / _NAME
    path.write_text("".join(parts), "utf-8")
    return path
