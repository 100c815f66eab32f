"""Which rulebook each of many jobs is judged by, where places and days differ."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

import attrs

from stemlore.errors import DayError
from stemlore.rules.pack import Pack, PackFolder
from stemlore.rules.places import place_code
from stemlore.rules.rulebook import Rulebook, rulebook

__all__ = ["Rulebooks", "rulebooks"]


@attrs.frozen(kw_only=True)
class Rulebooks:
    """Rulebooks by place and day. Made by :func:`rulebooks`.

    Attributes
    ----------
    registered_in, used_in, workshop : str or None
        The places of those that tell none of their own.
    on : date or None
        The day of those that tell none of their own.
    decision : str
        Decision rule of all.
    also : tuple of PackFolder or Pack
        Packs that are not installed.
    """

    registered_in: str | None = None
    used_in: str | None = None
    workshop: str | None = None
    on: date | None = None
    decision: str = "simple"
    also: tuple[PackFolder | Pack, ...] = ()

    def at(
        self,
        *,
        registered_in: str | None = None,
        used_in: str | None = None,
        workshop: str | None = None,
        on: date | str | None = None,
    ) -> Rulebook:
        """Return one of them.

        Parameters
        ----------
        registered_in, used_in, workshop : str, optional
            The places that are told; those of all stand in for the others.
        on : date or str, optional
            The day that is told.

        Raises
        ------
        DayError
            If no day is told and there is none for all, or a place's pack does not answer for it.
        UnknownPlaceError
            If a place is no code.
        """
        day = self.on if on is None else on
        if day is None:
            raise DayError("no day is told", advice="give the day whose law holds")
        return rulebook(
            on=day,
            registered_in=self.registered_in if registered_in is None else registered_in,
            used_in=self.used_in if used_in is None else used_in,
            workshop=self.workshop if workshop is None else workshop,
            decision=self.decision,
            also=self.also,
        )


def rulebooks(
    place: str | None = None,
    *,
    on: date | str | None = None,
    registered_in: str | None = None,
    used_in: str | None = None,
    workshop: str | None = None,
    decision: str = "simple",
    also: Sequence[PackFolder | Pack] = (),
) -> Rulebooks:
    """Say which rulebooks many jobs are judged by; each job tells its own places and day, or some of them.

    Parameters
    ----------
    place : str, optional
        Place of all three ties of the jobs that tell none of their own.
    on : date or str, optional
        Day of the jobs that tell none of their own; without it they are not judged.
    registered_in, used_in, workshop : str, optional
        Another place for one tie.
    decision, also
        As for :func:`rulebook`.

    Raises
    ------
    UnknownPlaceError
        If a place is no code.
    DayError
        If the day is none.

    Examples
    --------
    >>> books = rulebooks("DE", on="2026-11-25")
    >>> book = books.at(used_in="AT", on="2016-01-10")
    >>> [each.place for each in book.coverage.ties], book.on.year
    (['DE', 'AT', 'DE'], 2016)
    """
    places = [
        None if each is None else place_code(each)
        for each in (place if own is None else own for own in (registered_in, used_in, workshop))
    ]
    day = None if on is None else rulebook(on=on, decision="simple").on
    return Rulebooks(
        registered_in=places[0],
        used_in=places[1],
        workshop=places[2],
        on=day,
        decision=decision,
        also=tuple(also),
    )
