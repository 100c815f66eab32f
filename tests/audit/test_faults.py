"""What goes wrong with files, disks and processes: a named error, and nothing half written."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import polars as pl
import pyarrow as pa
import pyarrow.parquet as pa_parquet
import pytest

import stemlore.audit._sources as sources
from stemlore.audit import audit_fleet
from stemlore.errors import SourceError
from stemlore.rules import rulebook
from stemlore.testing.fleet import synthetic_fleet

BOOK = rulebook("DE", on="2026-11-25")
TABLES = ("findings", "needs", "quality", "summary", "vehicles", "wide")


@pytest.fixture(scope="module")
def wheels() -> pl.DataFrame:
    return synthetic_fleet(40, seed=3, faults=0.4).wheels


def refused(source: Any, out: Path) -> str:
    """Return what is said of a source that cannot be read; nothing is written then."""
    with pytest.raises(SourceError) as told:
        audit_fleet(source, BOOK).write(out)
    assert not out.exists() or list(out.iterdir()) == []
    return str(told.value)


# --- files -----------------------------------------------------------------------------------------


@pytest.mark.parametrize("left", [0, 3, 12, 0.5, -200, -8, -1])
def test_a_parquet_file_cut_short_is_named(wheels: pl.DataFrame, tmp_path: Path, left: float) -> None:
    path = tmp_path / "cut.parquet"
    wheels.write_parquet(path)
    data = path.read_bytes()
    path.write_bytes(data[: int(len(data) * left) if 0 < left < 1 else int(left)])
    assert "cut.parquet cannot be read" in refused(path, tmp_path / "out")


def _magic(data: bytes) -> bytes:
    return data[:-4] + b"PAR9"


def _length(data: bytes) -> bytes:
    return data[:-8] + (2**31 - 1).to_bytes(4, "little") + b"PAR1"


def _footer(data: bytes) -> bytes:
    start = len(data) - 8 - int.from_bytes(data[-8:-4], "little")
    return data[:start] + bytes(400) + data[start + 400 :]


@pytest.mark.parametrize("spoil", [_magic, _length, _footer])
def test_a_parquet_file_with_a_wrong_footer_is_named(
    wheels: pl.DataFrame, tmp_path: Path, spoil: Callable[[bytes], bytes]
) -> None:
    path = tmp_path / "odd.parquet"
    wheels.write_parquet(path)
    path.write_bytes(spoil(path.read_bytes()))
    assert "odd.parquet cannot be read" in refused(path, tmp_path / "out")


@pytest.mark.parametrize("name", ["nothing.csv", "nothing.parquet"])
def test_an_empty_file_is_named(tmp_path: Path, name: str) -> None:
    path = tmp_path / name
    path.write_bytes(b"")
    assert f"{name} cannot be read" in refused(path, tmp_path / "out")


def test_a_table_without_rows_gives_tables_without_rows(wheels: pl.DataFrame, tmp_path: Path) -> None:
    for path, write in (
        (tmp_path / "a.parquet", wheels.head(0).write_parquet),
        (tmp_path / "a.csv", wheels.head(0).write_csv),
    ):
        write(path)
        run = audit_fleet(path, BOOK)
        out = run.write(tmp_path / f"out of {path.name}")
        assert (run.rows, int(run.summary["subjects"].sum())) == (0, 0)
        assert {name: pl.read_parquet(out / f"{name}.parquet").height for name in TABLES} == dict.fromkeys(
            TABLES, 0
        ) | {"summary": len(BOOK.rules)}


BAD_CSV = {
    "a row too long": b"vehicle_id,side\n1,left\n2,left,7\n",
    "a row too short": b"vehicle_id,axle_number,side\n1,1,left\n2,1\n",
    "another encoding": "vehicle_id,side,tyre_maker\n1,left,Ö\n".encode("latin-1"),
    "no text at all": bytes(range(256)) * 40,
}


@pytest.mark.parametrize("fault", BAD_CSV)
def test_a_csv_file_in_a_folder_that_is_none_is_named(
    wheels: pl.DataFrame, tmp_path: Path, fault: str
) -> None:
    folder = tmp_path / "fleet"
    folder.mkdir()
    wheels.write_parquet(folder / "a.parquet")
    (folder / "b.csv").write_bytes(BAD_CSV[fault])
    assert "b.csv" in refused(folder, tmp_path / "out")


def test_a_quote_without_end_is_told_with_all_that_it_swallows(tmp_path: Path) -> None:
    path = tmp_path / "quote.csv"
    path.write_text('vehicle_id,tyre_studded,side\n1,no,"left\n2,no,right\n')
    assert any("2,no,right" in (value or "") for value in audit_fleet(path, BOOK).quality.collect()["value"])


def test_a_file_in_a_folder_that_is_no_table_is_named(wheels: pl.DataFrame, tmp_path: Path) -> None:
    folder = tmp_path / "fleet"
    folder.mkdir()
    wheels.write_parquet(folder / "a.parquet")
    (folder / "b.parquet").write_text("not a table")
    assert "b.parquet cannot be read" in refused(folder, tmp_path / "out")


@pytest.mark.skipif(os.name != "posix" or os.geteuid() == 0, reason="everything can be read here")
def test_a_file_that_may_not_be_read_is_named(wheels: pl.DataFrame, tmp_path: Path) -> None:
    folder = tmp_path / "fleet"
    folder.mkdir()
    wheels.write_parquet(folder / "a.parquet")
    wheels.write_parquet(folder / "b.parquet")
    (folder / "b.parquet").chmod(0)
    assert "b.parquet cannot be read" in refused(folder, tmp_path / "out")


def test_a_folder_named_as_a_file_is_read_as_a_folder(wheels: pl.DataFrame, tmp_path: Path) -> None:
    folder = tmp_path / "fleet"
    (folder / "x.parquet").mkdir(parents=True)
    assert "holds no file" in refused(folder, tmp_path / "out")
    wheels.write_parquet(folder / "x.parquet" / "part-0.parquet")
    assert audit_fleet(folder, BOOK).rows == wheels.height


@pytest.mark.skipif(os.name != "posix", reason="links are made otherwise there")
def test_a_link_to_nothing_is_not_passed_over(wheels: pl.DataFrame, tmp_path: Path) -> None:
    folder = tmp_path / "fleet"
    folder.mkdir()
    wheels.write_parquet(folder / "a.parquet")
    (folder / "b.parquet").symlink_to(tmp_path / "gone.parquet")
    assert "b.parquet" in refused(folder, tmp_path / "out")


def test_two_columns_of_one_name_are_told(tmp_path: Path) -> None:
    plain = tmp_path / "twice.csv"
    plain.write_text("vehicle_id,side,side\n1,left,right\n")
    assert "two columns 'side'" in refused(plain, tmp_path / "out")


def test_two_columns_of_one_name_in_parquet_and_arrow_are_told(wheels: pl.DataFrame, tmp_path: Path) -> None:
    binary = tmp_path / "twice.parquet"
    table = wheels.select("vehicle_id", "side").to_arrow()
    pa_parquet.write_table(table.append_column("side", table["side"]), binary)
    assert "two columns 'side'" in refused(binary, tmp_path / "out")
    stream = pa.RecordBatchReader.from_batches(*_doubled(table))
    assert "side" in refused(stream, tmp_path / "out")


def _doubled(table: pa.Table) -> tuple[pa.Schema, list[pa.RecordBatch]]:
    twice = table.append_column("side", table["side"])
    return twice.schema, twice.to_batches()


def test_files_of_a_folder_that_clash_are_read_as_text(wheels: pl.DataFrame, tmp_path: Path) -> None:
    folder = tmp_path / "fleet"
    folder.mkdir()
    some = wheels.with_columns(pl.col("vehicle_id").cast(pl.Int64))
    some[:60].write_parquet(folder / "a.parquet")
    some[60:].with_columns(pl.col("vehicle_id").cast(pl.String)).write_parquet(folder / "b.parquet")
    run, whole = audit_fleet(folder, BOOK), audit_fleet(wheels, BOOK)
    assert run.summary.equals(whole.summary)


def test_a_nested_column_beside_a_plain_one_is_named(wheels: pl.DataFrame, tmp_path: Path) -> None:
    wheels[:60].write_parquet(tmp_path / "a.parquet")
    nested = wheels[60:].with_columns(vehicle_id=pl.struct("side", "place"))
    nested.write_parquet(tmp_path / "b.parquet")
    assert "vehicle_id" in refused(tmp_path, tmp_path / "out")


# --- disks -----------------------------------------------------------------------------------------

DISK = """
import os, sys, json, tempfile, resource, signal
import pyarrow
from pathlib import Path
import stemlore.audit._sources as sources
from stemlore.audit import audit_fleet
from stemlore.rules import rulebook, rulebooks
from stemlore.testing.fleet import synthetic_fleet

small, limited = Path(sys.argv[1]), sys.argv[2] == "limit"
if limited:
    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (4096, resource.RLIM_INFINITY))
tempfile.tempdir = str(small)
book = rulebook("DE", on="2026-11-25")
wheels = synthetic_fleet(250, seed=3, faults=0.4).wheels
several = synthetic_fleet(250, place=["DE", "AT"], seed=3).wheels
sources.BATCH = 300
told = {}
def tried(name, work):
    try:
        work()
    except Exception as error:
        told[name] = [type(error).__name__, str(error)]
    else:
        told[name] = ["nothing", ""]
    told[name].append(sorted(each.name for each in small.iterdir()))
tried("write", lambda: audit_fleet(wheels, book).write(small / "out"))
told["write"][2] = sorted(each.name for each in (small / "out").iterdir())
(small / "out").rmdir()
tried("csv", lambda: audit_fleet(wheels, book).write(small / "out", form="csv"))
told["csv"][2] = sorted(each.name for each in (small / "out").iterdir())
(small / "out").rmdir()
tried("by book", lambda: audit_fleet(several, rulebooks()).summary)
if sys.argv[3] == "all":
    apart = wheels.sample(fraction=1.0, shuffle=True, seed=1)
    tried("gathered", lambda: audit_fleet(apart, book).summary)
    rows = wheels.to_arrow()
    reader = pyarrow.RecordBatchReader.from_batches(rows.schema, rows.to_batches())
    tried("stream", lambda: audit_fleet(reader, book).summary)
sys.stdout.write(json.dumps(told))
"""


def on_a_full_disk(folder: Path, how: str, which: str) -> None:
    """Hold that each way to fill a disk is told as one, and leaves nothing."""
    small = folder / "small"
    small.mkdir()
    script = folder / "script.py"
    script.write_text(DISK)
    words = [sys.executable, str(script), str(small), how, which]
    if how == "disk":
        mount = f"mount -t tmpfs -o size=20k tmpfs {small}"
        if shutil.which("unshare") is None or subprocess.run(["unshare", "-rm", *mount.split()]).returncode:
            pytest.skip("no small disk can be made here")
        words = ["unshare", "-rm", "sh", "-c", f'{mount} && exec "$@"', "sh", *words]
    done = subprocess.run(words, capture_output=True, text=True, timeout=500)
    assert done.returncode == 0, done.stderr
    told = json.loads(done.stdout)
    assert len(told) == (5 if which == "all" else 3)
    for name, (kind, said, left) in told.items():
        assert kind == "WriteError", (name, kind, said)
        assert left == [], name
        assert "too large" in said or "No space left" in said, said


@pytest.mark.skipif(os.name != "posix", reason="no such limits there")
@pytest.mark.parametrize("how", ["limit", "disk"])
def test_a_full_disk_is_told_and_nothing_is_left(tmp_path: Path, how: str) -> None:
    on_a_full_disk(tmp_path, how, "results and books")


@pytest.mark.skipif(os.name != "posix", reason="no such limits there")
def test_a_full_disk_is_told_where_rows_are_gathered(tmp_path: Path) -> None:
    on_a_full_disk(tmp_path, "limit", "all")


# --- kills -------------------------------------------------------------------------------------------

KILL = """
import json, os, signal, sys
from pathlib import Path
from stemlore.audit import audit_fleet
from stemlore.rules import rulebook
from stemlore.testing.fleet import synthetic_fleet

out, form = Path(sys.argv[1]), sys.argv[2]
last = 0
def written(vehicles, at=None):
    \"\"\"Write in a process of its own, which is killed before a file takes its name.\"\"\"
    child = os.fork()
    if child:
        return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
    plain, count = Path.replace, 0
    def replace(self, target):
        nonlocal count
        count += 1
        if count == at:
            os.kill(os.getpid(), signal.SIGKILL)
        return plain(self, target)
    Path.replace = replace
    wheels = synthetic_fleet(vehicles, seed=1, faults=0.5).wheels
    audit_fleet(wheels, rulebook("DE", on="2026-11-25")).write(out, form=form)
    os._exit(0)

def stand():
    return {each.name: each.read_text("utf-8") if each.name == "run.json" else each.stat().st_size
            for each in out.iterdir() if not each.name.startswith(".")}

def put_back(files):
    for each in out.iterdir():
        each.unlink()
    for name, data in files.items():
        (out / name).write_bytes(data)

assert written(3) == 0
files = {each.name: each.read_bytes() for each in out.iterdir()}
seen = []
for at in (1, 4, 7):
    put_back(files)
    before = stand()
    code = written(9, at)
    seen.append([at, code, before, stand()])
assert written(9) == 0
print(json.dumps([seen, stand()]))
"""


@pytest.mark.skipif(not hasattr(os, "fork"), reason="no process is killed so there")
def test_a_kill_between_two_names_leaves_no_mark_of_a_whole_run(tmp_path: Path) -> None:
    script = tmp_path / "script.py"
    script.write_text(KILL)
    done = subprocess.run(
        [sys.executable, str(script), str(tmp_path / "out"), "parquet"],
        capture_output=True, text=True, timeout=500,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    seen, after = json.loads(done.stdout)
    assert len(after) == 7
    for at, code, before, found in seen:
        assert code == -9, at
        assert "run.json" in before
        assert "run.json" not in found
        for name, size in found.items():
            assert size in (before[name], after[name]), (at, name)
        new = sum(found[name] != before[name] for name in found)
        assert new <= at - 1
        assert new > 0 or at == 1  # of both runs, which the mark must not call whole


def test_a_source_cut_short_is_named_where_rows_are_brought_together(
    wheels: pl.DataFrame, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sources, "BATCH", 50)
    whole = tmp_path / "whole.parquet"
    wheels.sample(fraction=1.0, shuffle=True, seed=1).write_parquet(whole, row_group_size=40)
    data = bytearray(whole.read_bytes())
    middle = len(data) // 3
    data[middle : middle + 200] = bytes(200)
    whole.write_bytes(bytes(data))
    with pytest.raises(SourceError, match=r"whole\.parquet cannot be read"):
        _ = audit_fleet(whole, BOOK).summary
