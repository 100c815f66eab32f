"""The invented subdivision XA-AB."""

from stemlore.rules import pack_folder

__all__ = ["PACK"]

PACK = pack_folder(__file__)
