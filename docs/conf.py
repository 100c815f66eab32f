"""How the documentation is built: from prose, docstrings, packs and tables."""

from __future__ import annotations

import doctest
import sys
from importlib.metadata import version as version_of
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent / "_ext"))

project = "stemlore"
author = "the stemlore authors"
copyright = "the stemlore authors, Apache-2.0"
release = version = version_of("stemlore")

extensions = [
    "myst_parser",
    "sphinx.ext.autodoc",
    "sphinx.ext.doctest",
    "sphinx.ext.napoleon",
    "stemlore.sphinxext",
    "commands",
    "documents",
    "drawings",
    "plots",
    "public_names",
]
exclude_patterns = ["_build", "_ext"]

html_theme = "furo"
html_title = "stemlore"
html_show_sphinx = False

myst_enable_extensions = ["colon_fence", "deflist"]
myst_heading_anchors = 3

autodoc_member_order = "bysource"
autodoc_typehints = "signature"
autodoc_typehints_format = "short"
autodoc_default_options = {"members": True}
napoleon_google_docstring = False
# types of parameters stand in the signature; in the text they are words for people, not references
napoleon_use_param = False
napoleon_use_rtype = False
napoleon_custom_sections = [("Attributes", "params_style")]

# only public names of this library must resolve: others have no pages here
nitpick_ignore_regex = [("py:.*", r"(?!stemlore\.).*"), ("py:.*", r"stemlore\.(.*\.)?_.*")]

doctest_global_setup = (
    "from datetime import date\nfrom stemlore import *\nfrom stemlore.notation import *\n"
    "from stemlore.formulas import *\nfrom stemlore.workplan import *"
)
doctest_default_flags = doctest.ELLIPSIS  # messages of errors are compared too
doctest_test_doctest_blocks = "default"

nitpick_ignore = [("py:class", "stemlore.workplan.diagnosis.K")]  # a type variable
