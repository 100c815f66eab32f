"""The pack ``tw``; its content is the TOML beside this file."""

from stemlore.rules import pack_folder

PACK = pack_folder(__file__)
