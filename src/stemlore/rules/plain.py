"""A job's present values as plain data, for fingerprints."""

from __future__ import annotations

from typing import Any

from stemlore.model import Job, plain_values

__all__ = ["plain_job"]


def plain_job(job: Job) -> dict[str, Any]:
    """Return a job as plain data: positions and axles sorted, so that order of entry does not matter."""
    plain = plain_values(job)
    plain["assemblies"] = sorted(plain.get("assemblies", []), key=lambda each: str(each.get("position")))
    vehicle = plain.get("vehicle", {})
    if "axles" in vehicle:
        vehicle["axles"] = sorted(vehicle["axles"], key=lambda each: int(each["number"]))
    return plain
