"""Finding packs: the entry points of the group ``stemlore.packs``, ours like anyone's.

Discovery never raises. A pack that is broken and not asked for is reported
and harmless; one that is asked for and broken is an error with its cause.
"""

from __future__ import annotations

import os
import threading
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import attrs

from stemlore.errors import Fault, PackError, PackLoadError, StemloreError
from stemlore.rules.pack import API, Pack, PackFolder

__all__ = ["GROUP", "Discovery", "FailedPack", "FoundPack", "discover", "forget", "pack", "with_folders"]

GROUP = "stemlore.packs"
OWN_DISTRIBUTION = "stemlore"


@attrs.frozen(kw_only=True)
class FoundPack:
    """A pack that is installed: id, place, and the distribution that brings it."""

    id: str
    place: str
    distribution: str
    version: str
    folder: PackFolder


@attrs.frozen(kw_only=True)
class FailedPack:
    """An entry point that is no usable pack, and why."""

    name: str
    distribution: str
    version: str
    error: str
    cause: BaseException | None = attrs.field(default=None, eq=False, repr=False)


@attrs.frozen(eq=False)
class Discovery:
    """What is installed: packs by id, and what failed; one look is another than the next."""

    packs: Mapping[str, FoundPack]
    failed: tuple[FailedPack, ...]

    def at(self, place: str) -> tuple[FoundPack, ...]:
        """Return the packs of one place, by id."""
        return tuple(found for _, found in sorted(self.packs.items()) if found.place == place)


_lock = threading.Lock()
_kept: dict[bool, Discovery] = {}


def forget() -> None:
    """Look again at the next call: for a process that installs packs while it runs."""
    with _lock:
        _kept.clear()


def discover() -> Discovery:
    """Return the packs that are installed; looked up once a process.

    ``STEMLORE_NO_PLUGINS=1`` leaves only the packs of this distribution.
    """
    own_only = os.environ.get("STEMLORE_NO_PLUGINS", "") not in ("", "0")
    with _lock:
        if own_only not in _kept:
            _kept[own_only] = _look(own_only)
        return _kept[own_only]


def _look(own_only: bool) -> Discovery:
    packs: dict[str, FoundPack] = {}
    failed: list[FailedPack] = []
    for name, distribution, version, entry in sorted(_entries(failed), key=lambda each: each[:3]):
        if own_only and distribution != OWN_DISTRIBUTION:
            continue
        found = _look_at(name, entry, distribution, version)
        if isinstance(found, FailedPack):
            failed.append(found)
        elif found.id in packs:
            other = packs[found.id]
            if other.folder.path == found.folder.path:
                continue
            # neither may win by the order of installation
            failed.append(_clash(found, other))
            failed.append(_clash(other, found))
        else:
            packs[found.id] = found
    for clash in [each.name for each in failed if each.name in packs]:
        packs.pop(clash, None)
    return Discovery(packs, tuple(failed))


def _entries(failed: list[FailedPack]) -> list[tuple[str, str, str, Any]]:
    """Return the entry points of the group: name, distribution, version and the point itself."""
    from importlib_metadata import distributions, entry_points  # costs 60 ms, so only here

    try:
        return [(entry.name, *_brought_by(entry.dist), entry) for entry in entry_points(group=GROUP)]
    except Exception:  # one distribution's broken metadata stops the look at all others
        out: dict[tuple[str, str], tuple[str, str, str, Any]] = {}
        for dist in distributions():
            brought = _brought_by(dist)
            try:
                for entry in dist.entry_points.select(group=GROUP):
                    # the first on the path hides others of the same name, as at import
                    out.setdefault((entry.name, brought[0]), (entry.name, *brought, entry))
            except Exception as error:
                why = f"its entry points cannot be read: {type(error).__name__}: {error}"
                failed.append(
                    FailedPack(name="", distribution=brought[0], version=brought[1], error=why, cause=error)
                )
        return list(out.values())


def _brought_by(dist: Any) -> tuple[str, str]:
    try:
        return str(dist.name or "unknown"), str(dist.version or "")
    except Exception:  # metadata without a name
        return "unknown", ""


def _clash(one: FoundPack, other: FoundPack) -> FailedPack:
    why = f"two packs have the id {one.id!r}: in {one.distribution} and in {other.distribution}"
    return FailedPack(name=one.id, distribution=one.distribution, version=one.version, error=why)


def _look_at(name: str, entry: Any, distribution: str, version: str) -> FoundPack | FailedPack:
    def fail(why: str, cause: BaseException | None = None) -> FailedPack:
        return FailedPack(name=name, distribution=distribution, version=version, error=why, cause=cause)

    try:
        folder = entry.load()
    except (Exception, SystemExit) as error:  # any code may run when a plug-in is imported
        return fail(f"{type(error).__name__}: {error}", error)
    if not isinstance(folder, PackFolder):
        return fail(f"{entry.value} is a {type(folder).__name__}, not what pack_folder() returns")
    try:
        head = folder.head
    except StemloreError as error:
        return fail(str(error), error)
    if head.get("id") != name:
        return fail(f"the entry point is named {name!r}, the pack {head.get('id')!r}")
    if head.get("api") != API:
        return fail(f"is written for API {head.get('api')!r}; this stemlore reads {API}")
    if not isinstance(head.get("place"), str):
        return fail("does not say its place")
    return FoundPack(id=name, place=head["place"], distribution=distribution, version=version, folder=folder)


def _read_already(given: Pack) -> PackFolder:
    """Return a pack in memory as a folder that has been read."""
    folder = PackFolder(Path(f"<pack {given.id}>"))
    vars(folder).update(_pack=given, head={"id": given.id, "place": given.place})  # its cached values
    return folder


def with_folders(found: Discovery, folders: Sequence[PackFolder | Pack]) -> Discovery:
    """Return a discovery with packs added that are not installed, or that are changed in memory.

    Raises
    ------
    PackError
        If a folder's ``pack.toml`` cannot be read, or two have one id.
    """
    packs = dict(found.packs)
    added: dict[str, PackFolder] = {}
    for given in folders:
        folder = _read_already(given) if isinstance(given, Pack) else given
        name, place = folder.head.get("id"), folder.head.get("place")
        if not isinstance(name, str) or not isinstance(place, str):
            folder.load()  # says what is wrong
            raise PackError(f"pack in {folder.path.name}", [Fault("id", "must be given", where="pack.toml")])
        if name in added and (isinstance(given, Pack) or added[name].path != folder.path):
            why = f"is also that of the pack in {added[name].path}"
            raise PackError(f"pack in {folder.path}", [Fault("id", f"{name!r} {why}", where="pack.toml")])
        added[name] = folder
        packs[name] = FoundPack(id=name, place=place, distribution="", version="", folder=folder)
    return Discovery(packs, tuple(each for each in found.failed if each.name not in added))


def pack(name: str, found: Discovery | None = None) -> Pack:
    """Return a pack by id, read in full.

    Raises
    ------
    PackLoadError
        If it is not installed, or broken; the cause is chained.
    """
    found = found or discover()
    if name in found.packs:
        try:
            return found.packs[name].folder.load()
        except StemloreError as error:
            raise PackLoadError(name, str(error)) from error
    for failed in found.failed:
        if failed.name == name:
            raise PackLoadError(name, failed.error, advice=f"from {failed.distribution}") from failed.cause
    raise PackLoadError(name, "it is not installed", advice=f"installed: {', '.join(sorted(found.packs))}")
