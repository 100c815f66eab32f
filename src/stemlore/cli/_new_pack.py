"""Writing a package that holds a pack, from templates that lie beside this file."""

from __future__ import annotations

import re
from importlib.resources import files
from pathlib import Path
from string import Template

import click

import stemlore
from stemlore.cli._page import Page
from stemlore.errors import UnknownPlaceError
from stemlore.rules import Discovery, discover
from stemlore.rules.places import COUNTRIES, country_of, place_code

__all__ = ["write_package"]

# where each template goes in the package; {} is the module
_PLACES = {
    "pyproject.toml": "pyproject.toml",
    "README.md": "README.md",
    "gitignore": ".gitignore",
    "test_pack.py": "tests/test_pack.py",
    "__init__.py": "src/{}/__init__.py",
    "pack.toml": "src/{}/pack.toml",
    "released.toml": "src/{}/released.toml",
    "sources.toml": "src/{}/sources.toml",
    "tread.toml": "src/{}/parameters/tread.toml",
    "rules.toml": "src/{}/rules.toml",
    "cases.toml": "src/{}/cases.toml",
}


def write_package(page: Page, code: str, directory: Path) -> None:
    """Write a package for a place, and print what to do with it.

    Raises
    ------
    UnknownPlaceError
        If the place is no country or subdivision of ISO 3166.
    click.UsageError
        If the directory is not empty, or the place has a pack.
    """
    place = place_code(code)
    if re.fullmatch(r"[A-Z]{2}(-[A-Z0-9]+)?", place) is None or place in ("EU", "UN"):
        raise UnknownPlaceError(code, advice="a pack is begun for an ISO 3166 code, such as DE or US-CA")
    found = discover()
    name = place.lower().replace("-", "_")
    if name in found.packs:
        other = found.packs[name]
        raise click.UsageError(
            f"{place} has the pack {name!r} already, from {other.distribution} {other.version}; "
            "two packs of one id are an error of both. Mend that one."
        )
    if directory.exists() and (not directory.is_dir() or any(directory.iterdir())):
        raise click.UsageError(f"{directory} is there and not empty; nothing is overwritten")
    module = f"stemlore_pack_{name}"
    filled = _filled(place, name, module, found)
    for template, path in _PLACES.items():
        target = directory / path.format(module)
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_text(_template(template, place).substitute(filled), "utf-8", newline="\n")
    page.line(f"Wrote {filled['distribution']} into {directory}, with an example to replace.")
    page.line()
    page.line("Next:")
    page.pairs(
        (
            (f"stemlore pack check {directory}", "what is wrong, and what is marked TODO"),
            (f"pip install -e {directory}", "then 'stemlore packs' lists it"),
        ),
        indent=2,
    )


def _template(name: str, place: str) -> Template:
    # an invented figure may stand only where it can never be taken for law
    kind = "real" if country_of(place) in COUNTRIES else "invented"
    at = files("stemlore.cli") / "templates"
    found = at / kind / f"{name}.template"
    text = (found if found.is_file() else at / "any" / f"{name}.template").read_text("utf-8")
    return Template(text)


def _filled(place: str, name: str, module: str, found: Discovery) -> dict[str, str]:
    country = country_of(place).lower()
    needs = [f"stemlore>={'.'.join(stemlore.__version__.split('.')[:2])}"]
    parents = '# parents = [...]  # packs whose rules hold here too, such as { id = "eu", from = 2004-05-01 }'
    below = "own_law_below = true  # TODO: false where no subdivision makes law on these matters"
    if country != name:
        below = ""
        parents = f"# the rules of {country} hold here too, once it has a pack; until then it is no parent"
        if country in found.packs:
            parents = f'parents = ["{country}"]'
            brings = found.packs[country].distribution
            needs += [brings] if brings != "stemlore" else []
    first = "# first_day = ...  # earlier days are refused: where what you have seen begins"
    if country.upper() not in COUNTRIES:
        first = "first_day = 2001-01-01  # earlier days are refused"
    return {
        "place": place,
        "id": name,
        "module": module,
        "distribution": module.replace("_", "-"),
        "dependencies": ", ".join(f'"{each}"' for each in needs),
        "parents": parents,
        "first_day": first,
        "below": below,
    }
