"""The plug-in for pytest: ``pytest src/my_pack/pack.toml`` runs the conformance kit on that pack.

A ``pack.toml`` is collected where it is named, on the command line or in
``testpaths``, and nowhere else: packs that lie about in a tree of tests may
be broken on purpose. pytest imports this file wherever stemlore is installed,
so it loads nothing until then.
"""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import Any

import pytest

__all__ = ["PackCase", "PackFile", "pytest_collect_file"]


def pytest_collect_file(file_path: Path, parent: pytest.Collector) -> pytest.Collector | None:
    """Collect a pack that was asked for by the path of its ``pack.toml``."""
    if file_path.name == "pack.toml" and parent.session.isinitpath(file_path):
        collected: PackFile = PackFile.from_parent(parent, path=file_path)
        return collected
    return None


class PackFile(pytest.File):
    """A pack as a file of tests."""

    def collect(self) -> Iterable[pytest.Item]:
        """Yield a test for everything that the pack must satisfy."""
        from stemlore.testing import conformance_cases

        for case in conformance_cases(self.path.parent):
            yield PackCase.from_parent(self, name=str(case), case=case)


class PackCase(pytest.Item):
    """One thing that the pack must satisfy."""

    def __init__(self, *, case: Any, **rest: Any) -> None:
        super().__init__(**rest)
        self.case = case

    def runtest(self) -> None:
        """Check it."""
        self.case.check()

    def repr_failure(self, excinfo: pytest.ExceptionInfo[BaseException], style: Any = None) -> Any:
        """Tell what is wrong without the kit's own lines."""
        if isinstance(excinfo.value, AssertionError):
            return str(excinfo.value)
        return super().repr_failure(excinfo, style)

    def reportinfo(self) -> tuple[Path, int | None, str]:
        """Return where the pack lies, and the name of the case."""
        return self.path, None, self.name
