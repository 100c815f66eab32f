"""One way to the JSON Schema of every kind of document."""

from __future__ import annotations

from typing import Any, Literal

from stemlore.interchange.plans import plan_schema
from stemlore.interchange.report import Form, report_schema
from stemlore.interchange.schema import job_schema
from stemlore.rules import Rulebook

__all__ = ["schema"]


def schema(
    document: Literal["job", "report", "plan"], book: Rulebook | None = None, *, form: Form = "full"
) -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of a kind of document.

    Parameters
    ----------
    document : {'job', 'report', 'plan'}
        Kind of document.
    book : Rulebook, optional
        Names the rulebook's packs as the only ones whose own fields a job may carry.
    form : {'full', 'compact'}
        Form of the report.

    Raises
    ------
    ValueError
        If there is no such kind of document, or form.
    """
    if document == "report":
        return report_schema(form)
    if document == "plan":
        return plan_schema()
    if document != "job":
        raise ValueError(f"there is no document {document!r}: it is 'job', 'report' or 'plan'")
    made = job_schema()
    if book is None:
        return made
    names = "|".join(sorted(book.packs))
    for part in (made, *made["$defs"].values()):
        if "own" in part["properties"]:
            own = part["properties"]["own"]
            part["properties"]["own"] = {**own, "propertyNames": {"pattern": rf"^({names})\.."}}
    return made
