"""Pages for print, each one file that needs no network.

Belongs here: how a plan and an audited fleet look on paper. Does not: what they say
(workplan, audit), figures (figures), anything that decides.

Needs jinja2 (extra ``pages``); may import the rooms from figures and
interchange down. Figures are drawn where the extra ``figures`` is there too.
"""

from __future__ import annotations

from stemlore.errors import MissingExtraError

try:
    import jinja2 as _jinja2  # noqa: F401 - only whether it is there
except ImportError as error:
    raise MissingExtraError("writing pages", extra="pages") from error

from stemlore.pages.fleet import audit_report
from stemlore.pages.sheet import job_sheet

__all__ = ["audit_report", "job_sheet"]
