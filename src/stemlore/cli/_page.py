"""A page for people: headings, wrapped lines, colour only on a terminal."""

from __future__ import annotations

import sys
import textwrap
from collections.abc import Iterable

import click
from rich.console import Console
from rich.text import Text

__all__ = ["Page", "counted"]

_WIDEST = 120


def counted(count: int, one: str, many: str = "") -> str:
    """Write a number with its noun."""
    return f"{count} {one if count == 1 else many or one + 's'}"


class Page:
    """Collects what is printed; nothing is shortened, long lines are wrapped."""

    def __init__(self) -> None:
        self._console = Console(file=sys.stdout, highlight=False, markup=False, emoji=False, soft_wrap=False)
        self.width = min(self._console.width, _WIDEST)
        self._parts: list[tuple[str, int, int, str]] = []

    def line(self, text: str = "", *, indent: int = 0, hang: int = 0, style: str = "") -> None:
        """Add a paragraph.

        Parameters
        ----------
        text : str
            One paragraph.
        indent : int
            Columns to the left of it.
        hang : int
            Columns more for all lines but the first.
        style : str
            Colour and weight, on a terminal.
        """
        self._parts.append((text, indent, hang, style))

    def heading(self, text: str, *, style: str = "bold") -> None:
        """Add a heading with a blank line above."""
        self.line()
        self.line(text, style=style)

    def labelled(self, label: str, text: str, *, indent: int = 0, style: str = "") -> None:
        """Add a paragraph behind a label, if there is anything to say."""
        if text:
            self.line(f"{label}: {text}", indent=indent, hang=2, style=style)

    def pairs(self, rows: Iterable[tuple[str, str]], *, indent: int = 0) -> None:
        """Add lines of two columns, the second wrapped beside the first where there is room."""
        listed = list(rows)
        wide = max((len(left) for left, _ in listed), default=0) + 2
        for left, right in listed:
            if wide > self.width // 2:
                self.line(left, indent=indent, hang=2)
                self.line(right, indent=indent + 2)
            else:
                self.line(f"{left:<{wide}}{right}", indent=indent, hang=wide)

    def text(self) -> str:
        """Return the page as it goes to the terminal or the pipe."""
        with self._console.capture() as captured:
            for text, indent, hang, style in self._parts:
                for line in self._lines(text, indent, hang):
                    self._console.print(Text(line, style=style), soft_wrap=True)
        return captured.get()

    def _lines(self, text: str, indent: int, hang: int) -> list[str]:
        # a word longer than the line sticks out: a clause or file name that is cut cannot be looked up
        return textwrap.wrap(
            text,
            self.width,
            initial_indent=" " * indent,
            subsequent_indent=" " * (indent + hang),
            break_long_words=False,
            break_on_hyphens=False,
            drop_whitespace=True,
        ) or [""]

    def write(self) -> None:
        """Write the page; colour codes stand in it only where the output takes them."""
        click.echo(self.text(), nl=False, color=True)
