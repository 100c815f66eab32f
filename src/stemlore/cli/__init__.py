"""The command line: a thin face on the library.

Belongs here: options, exit codes, pages for people. Does not: anything that
decides; every verdict comes from the rooms below.

May import click and rich (extra ``cli``), and anything below.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence

from stemlore.errors import MissingExtraError

__all__ = ["main"]


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command ``stemlore`` and return its exit code.

    Parameters
    ----------
    arguments : sequence of str, optional
        Words after the command; those of the process when left out.

    Returns
    -------
    int
        0 clean, complete or done, 1 something fails or is left open, 2 bad input or usage, 3 a rule
        broke, 4 not settled; 130 after an interrupt, 141 if the reader of the
        output went away.
    """
    try:
        import click  # noqa: F401
        import rich  # noqa: F401
    except ImportError:
        print(f"stemlore: {MissingExtraError('the command line', extra='cli')}", file=sys.stderr)
        return 2
    from stemlore.cli._app import run

    return run(arguments)
