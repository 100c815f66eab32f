"""Jobs, reports and plans to and from JSON, and the JSON Schema of each.

Here belongs what travels: documents, their versions, their faults with paths.
What a field is belongs to model.

May import msgspec, and anything below.
"""

from __future__ import annotations

from stemlore.interchange.jobs import JOB_SCHEMA, job_to_json, read_job
from stemlore.interchange.schema import job_schema

__all__ = ["JOB_SCHEMA", "job_schema", "job_to_json", "read_job"]
