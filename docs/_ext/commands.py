"""Every command with its help: ``command-help:: stemlore.cli._app:commands``."""

from __future__ import annotations

from collections.abc import Iterator
from importlib import import_module

import click
from docutils import nodes
from sphinx.application import Sphinx
from sphinx.util.docutils import SphinxDirective

from stemlore.sphinxext._build import section


class CommandHelp(SphinxDirective):
    """Print the help of a command and of all commands below it."""

    required_arguments = 1

    def run(self) -> list[nodes.Node]:
        """Return one section a command."""
        module, _, name = self.arguments[0].partition(":")
        command: click.Command = getattr(import_module(module), name)
        return list(self._sections(command, "stemlore", None))

    def _sections(
        self, command: click.Command, name: str, parent: click.Context | None
    ) -> Iterator[nodes.Node]:
        context = click.Context(
            command, info_name=name, parent=parent, max_content_width=90, terminal_width=90
        )
        text = command.get_help(context)
        path = context.command_path
        made = section([nodes.literal("", path)], nodes.literal_block(text, text, language="text"))
        made["ids"].append(path.replace(" ", "-"))
        made["names"].append(f"command {path}")
        self.state.document.note_explicit_target(made)
        yield made
        if isinstance(command, click.Group):
            for each in command.list_commands(context):
                found = command.get_command(context, each)
                if found is not None and not found.hidden:
                    yield from self._sections(found, each, context)


def setup(app: Sphinx) -> dict[str, bool]:
    """Register."""
    app.add_directive("command-help", CommandHelp)
    return {"parallel_read_safe": True}
