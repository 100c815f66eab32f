"""stemlore: the checks behind every wheel that leaves a tyre workshop."""
