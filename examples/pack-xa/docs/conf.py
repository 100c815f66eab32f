"""How the pages of the packs are built."""

project = "stemlore-pack-xa"
author = "the authors of the pack"
extensions = ["myst_parser", "stemlore.sphinxext"]
exclude_patterns = ["_build"]
html_theme = "furo"
html_show_sphinx = False

# so that the packs need not be installed; a pack stands behind those that it rests on
stemlore_pack_folders = ["../src/stemlore_pack_xa", "../src/stemlore_pack_xa_ab"]
