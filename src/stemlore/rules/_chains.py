"""Which packs hold through a place, and on which days anything in them changes."""

from __future__ import annotations

from datetime import date, timedelta

from stemlore.errors import PackLoadError
from stemlore.rules import discovery
from stemlore.rules.places import country_of

__all__ = ["Places", "chain", "epochs"]

WORLD = "world"
Places = tuple[str | None, str | None, str | None]
"""Where a vehicle is registered, where it is used, where the workshop stands."""


def _own_packs(place: str, found: discovery.Discovery) -> list[str]:
    """Return the ids of the packs of a place itself; a broken one that bears its name is an error."""
    wanted = place.lower().replace("-", "_")
    for failed in found.failed:
        if failed.name == wanted:
            raise PackLoadError(
                failed.name, failed.error, advice=f"from {failed.distribution}"
            ) from failed.cause
    return [each.id for each in found.at(place)]


def chain(place: str | None, found: discovery.Discovery, day: date | None) -> tuple[list[str], bool, str]:
    """Return packs in force through a place, whether it is covered, and why not."""
    if place is None:
        return _own_packs(WORLD, found), False, "the place was not given"
    names = _own_packs(place, found)
    if place in (WORLD, "EU", "UN"):
        wider: list[str] = []
        for name in names:
            _parents(name, found, day, wider, ())
        wider += [name for name in _own_packs(WORLD, found) if name not in wider]
        return wider, False, f"{place} is no country: what a country adds was not checked"
    covered, note = bool(names), "" if names else f"there is no pack for {place}"
    country = country_of(place)
    if country != place:
        above = _own_packs(country, found)
        if not names and above and not any(discovery.pack(each, found).own_law_below for each in above):
            covered, note = True, ""
        elif not names and above:
            note = f"there is no pack for {place}; only {country}'s own rules were checked"
        names += above
    out: list[str] = []
    for name in names:
        _parents(name, found, day, out, ())
    out += [name for name in _own_packs(WORLD, found) if name not in out]
    return out, covered, note


def _parents(
    name: str, found: discovery.Discovery, day: date | None, out: list[str], above: tuple[str, ...]
) -> None:
    if name in above:
        raise PackLoadError(name, f"its parents run in a circle: {' > '.join((*above, name))}")
    if name in out:
        return
    if name not in found.packs and above:
        broken = next((each for each in found.failed if each.name == name), None)
        why = broken.error if broken else "it is not installed"
        raise PackLoadError(above[-1], f"its parent {name!r} cannot be loaded: {why}")
    pack = discovery.pack(name, found)
    out.append(name)
    for parent in pack.parents:
        if day is None or parent.holds_on(day):
            _parents(parent.id, found, day, out, (*above, name))


def epochs(places: Places, found: discovery.Discovery) -> tuple[date, ...]:
    """Return the days on which anything in the packs of these places changes."""
    days: set[date] = set()
    names = {name for place in places for name in chain(place, found, None)[0]}
    for pack in (discovery.pack(name, found) for name in names):
        for history in pack.parameters.values():
            days |= set(history.changes())
        for rule in pack.rules.values():
            days |= {each for each in (rule.starts, rule.unseen_before) if each is not None}
            if rule.ends is not None:
                days.add(rule.ends + timedelta(days=1))
        for parent in pack.parents:
            if parent.starts is not None:
                days.add(parent.starts)
            if parent.ends is not None:
                days.add(parent.ends + timedelta(days=1))
    return tuple(sorted(days))
