"""Our own packs, found through the same entry points as anyone's.

Belongs here: rules, parameters, sources and cases of a place or body, one
folder a pack. A pack uses only the public names of :mod:`stemlore.rules`.
"""
