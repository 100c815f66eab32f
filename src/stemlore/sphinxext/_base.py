"""What all directives share: packs by id, and errors told with file and line."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from docutils import nodes
from sphinx.config import Config
from sphinx.environment import BuildEnvironment
from sphinx.util.docutils import SphinxDirective

from stemlore.errors import RuleError, StemloreError, near_misses
from stemlore.rules import Discovery, Pack, PackFolder, discover
from stemlore.rules.discovery import pack, with_folders
from stemlore.rules.parameters import ParameterHistory

__all__ = ["StemloreDirective", "found_packs", "pack_named", "parameter_named"]


def found_packs(config: Config, confdir: str | Path) -> Discovery:
    """Return the packs that are installed and those of ``stemlore_pack_folders``."""
    folders = [PackFolder(Path(confdir) / each) for each in config.stemlore_pack_folders]
    return with_folders(discover(), folders) if folders else discover()


def pack_named(env: BuildEnvironment, name: str) -> Pack:
    """Return a pack, and let the page be made anew when a file of the pack changes.

    Raises
    ------
    PackLoadError
        If it is not installed, or broken.
    """
    found = found_packs(env.config, env.srcdir)
    near = near_misses(name, found.packs)
    if name not in found.packs and near and not any(each.name == name for each in found.failed):
        raise RuleError(f"no pack {name!r}", advice=f"did you mean {' or '.join(near)}?")
    loaded = pack(name, found)
    for file in sorted(found.packs[name].folder.path.rglob("*.toml")):
        env.note_dependency(str(file))
    return loaded


def parameter_named(env: BuildEnvironment, name: str) -> ParameterHistory:
    """Return a parameter by its full name.

    Raises
    ------
    RuleError
        If its pack has none of this name; with the nearest.
    """
    owner = pack_named(env, name.partition(".")[0])
    if name not in owner.parameters:
        near = near_misses(name, owner.parameters)
        hint = f"did you mean {' or '.join(near)}?" if near else ", ".join(owner.parameters)
        raise RuleError(f"pack {owner.id!r} has no parameter {name!r}", advice=hint)
    return owner.parameters[name]


class StemloreDirective(SphinxDirective):
    """A directive whose errors name file, line and near misses."""

    required_arguments = 1
    optional_arguments = 0
    has_content = False

    def run(self) -> list[nodes.Node]:
        """Make the nodes; what is wrong becomes an error at the directive's place."""
        try:
            return list(self.made())
        except StemloreError as error:
            raise self.error(f"{self.name}: {error}") from error

    def made(self) -> Sequence[nodes.Node]:
        """Return the nodes."""
        raise NotImplementedError

    def target(self, node: nodes.Element, label: str) -> None:
        """Make a node the target of ``ref`` by a label."""
        node["ids"].append(label)
        node["names"].append(nodes.fully_normalize_name(label))
        self.state.document.note_explicit_target(node)
