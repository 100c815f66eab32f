"""A figure: what it shows in words, and how it is drawn as SVG or PNG."""

from __future__ import annotations

import hashlib
import io
import os
import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from html import escape
from pathlib import Path
from threading import RLock
from typing import Any

import attrs
import matplotlib
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure as Drawn

from stemlore.errors import Fault, RecordError
from stemlore.figures._style import SETTINGS, WIDTH

__all__ = ["DPI", "Figure"]

DPI = 200
"""Dots by inch of a PNG unless told otherwise: sharp on paper, small in a mail."""

_LOCK = RLock()  # Matplotlib's settings belong to the process; two threads must not swap them
_MADE_IDS = re.compile(r'<g id="[A-Za-z0-9.]+_\d+">')


@attrs.frozen(eq=False)
class Figure:
    """One drawing; nothing is drawn before it is asked for.

    Attributes
    ----------
    name : str
        Of the function that made it.
    title : str
        What it shows, in one line.
    description : str
        What can be read from it, in words, with its numbers and with what is missing.
    missing : tuple of str
        What was not measured or not told, and is therefore dashed or left out.
    """

    name: str
    title: str
    description: str
    missing: tuple[str, ...]
    _draw: Callable[[Drawn], None] = attrs.field(repr=False)

    def svg(self) -> str:
        """Return it as one ``<svg>`` element to stand alone or in a page, the same for the same input."""
        out = io.StringIO()
        with self._drawn() as drawn:
            canvas: Any = FigureCanvasSVG(drawn)
            canvas.print_svg(out, metadata={"Date": None, "Creator": None})
        text = out.getvalue()
        head, _, body = text[text.index("<svg") :].partition(">")
        # names that Matplotlib counts up would clash where two figures stand in one page
        body = _MADE_IDS.sub("<g>", body)
        key = f"{self.name}-{hashlib.sha256((self.description + body).encode()).hexdigest()[:12]}"
        return (
            f'{head} role="img" aria-labelledby="{key}-title {key}-desc">\n'
            f' <title id="{key}-title">{escape(self.title)}</title>\n'
            f' <desc id="{key}-desc">{escape(self.description)}</desc>{body}'
        )

    def png(self, *, dpi: int = DPI) -> bytes:
        """Return it as a PNG; the same bytes for the same input."""
        out = io.BytesIO()
        told = {"Software": None, "Title": self.title, "Description": self.description}
        with self._drawn() as drawn:
            drawn.set_dpi(dpi)
            canvas: Any = FigureCanvasAgg(drawn)
            canvas.print_png(out, metadata=told)
        return out.getvalue()

    def save(self, path: str | os.PathLike[str]) -> None:
        """Write it to a file by its suffix, ``.svg`` or ``.png``; whole or not at all.

        Raises
        ------
        RecordError
            If the suffix is another one.
        """
        target = Path(path)
        suffix = target.suffix.lower()
        if suffix == ".svg":
            content = f'<?xml version="1.0" encoding="utf-8"?>\n{self.svg()}'.encode()
        elif suffix == ".png":
            content = self.png()
        else:
            raise RecordError(
                "file of a figure", [Fault("path", f"ends in {suffix!r}", "end it in .svg or .png")]
            )
        beside = target.with_name(f".{target.name}.{os.getpid()}.part")
        try:
            beside.write_bytes(content)
            beside.replace(target)
        finally:
            beside.unlink(missing_ok=True)

    @contextmanager
    def _drawn(self) -> Iterator[Drawn]:
        with _LOCK, matplotlib.rc_context():
            matplotlib.rcdefaults()  # whatever the process has set; its backend stays
            matplotlib.rcParams.update(SETTINGS)
            drawn = Drawn(figsize=(WIDTH, WIDTH))  # each drawing sets its own height
            self._draw(drawn)
            yield drawn
