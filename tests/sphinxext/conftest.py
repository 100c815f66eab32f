from __future__ import annotations

import shutil
from collections.abc import Callable
from importlib.util import find_spec
from pathlib import Path

import pytest

# without the extra 'docs' only what needs no Sphinx runs
if find_spec("sphinx") is None or find_spec("myst_parser") is None:
    collect_ignore_glob = ["test_packs.py", "test_limits.py", "test_records_and_tables.py"]

PACK = Path(__file__).parent / "pack"
CONF = """
extensions = ["myst_parser", "stemlore.sphinxext"]
html_theme = "basic"
smartquotes = False
stemlore_pack_folders = ["pack"]
"""

Build = Callable[..., tuple[str, str]]


@pytest.fixture
def build(tmp_path: Path) -> Build:
    """Build pages in nitpicky mode; return the HTML of the first and what was warned of."""
    from io import StringIO

    from sphinx.testing.util import SphinxTestApp

    def run(page: str, **others: str) -> tuple[str, str]:
        source = tmp_path / "docs"
        source.mkdir(exist_ok=True)
        shutil.copytree(PACK, source / "pack", dirs_exist_ok=True)
        (source / "conf.py").write_text(CONF)
        hidden = "\n".join(others)
        toc = f"\n```{{toctree}}\n{hidden}\n```\n" if others else ""
        for name, text in {"index": page + toc, **others}.items():
            (source / f"{name}.md").write_text(text, "utf-8")
        warned = StringIO()
        app = SphinxTestApp(
            "html", srcdir=source, warning=warned, confoverrides={"nitpicky": True}, freshenv=True
        )
        try:
            app.build()
            return (app.outdir / "index.html").read_text("utf-8"), warned.getvalue()
        finally:
            app.cleanup()

    return run
