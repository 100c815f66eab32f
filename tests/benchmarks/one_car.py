"""One car of four wheels against sixty rules, beside other ways to do the same; run it for a table.

All ways of one group run in one process in alternating rounds, their answers
asserted equal first. Budgets are told, never enforced: a busy machine is no
fault. With ``--markdown`` the table is printed for the docs.
"""

from __future__ import annotations

import subprocess
import sys
import tomllib
from collections.abc import Callable, Iterator
from functools import lru_cache
from itertools import cycle
from pathlib import Path
from time import perf_counter
from typing import Any

import attrs

sys.path.insert(0, str(Path(__file__).parent))

import by_hand  # noqa: E402
import msgspec  # noqa: E402
import peers  # noqa: E402
from car import DAY, PACK, book_of_sixty, document, fresh, job_of, text_of  # noqa: E402
from timing import Row, compared, markdown, plain, side_by_side  # noqa: E402

from stemlore import units  # noqa: E402
from stemlore.interchange import read_job, report_to_json  # noqa: E402
from stemlore.model import MakerInstruction  # noqa: E402
from stemlore.rules import Outcome, PackFolder, Report, check, discovery, rulebook  # noqa: E402

__all__ = ["importing", "main", "opening", "reading_text", "verdicts"]

_PASSED = (Outcome.PASS, Outcome.NOT_APPLICABLE)


def _outcomes(report: Report) -> list[list[bool | None]]:
    """Return a report's outcomes as by hand: True, False or None, wheel by wheel."""
    told = [
        True if each.outcome in _PASSED else None if each.outcome is Outcome.UNKNOWN else False
        for each in report.findings
    ]
    return [told[at : at + 60] for at in range(0, len(told), 60)]


def verdicts(rounds: int = 21) -> list[Row]:
    """Return the rows of a job judged: verdicts, findings as objects, text to text."""
    book = book_of_sixty()
    whole, job = job_of(gaps=False), job_of(gaps=True)
    given = document(gaps=False)
    text = text_of(gaps=False)
    zens = peers.zen_forms(book, given)
    zen_judge = peers.zen_from(book)
    rule_engine_car = peers.rule_engine_car(book, given)
    findings_by_hand = peers.findings_by_hand(book)

    want = [list(row) for row in by_hand.booleans(whole)]
    assert _outcomes(check(whole, book)) == want
    assert [list(row) for row in by_hand.booleans_if_complete(whole)] == want
    for form in zens.values():
        assert form() == want
    assert rule_engine_car() == want
    assert _outcomes(check(job, book)) == [list(row) for row in by_hand.booleans(job)]
    told = [(each.rule, each.outcome) for each in findings_by_hand(job)]
    flat = [outcome for row in _outcomes(check(job, book)) for outcome in row]
    assert told == [
        (each.rule, outcome) for each, outcome in zip(check(job, book).findings, flat, strict=True)
    ]
    assert check(job, book).counts[Outcome.FAIL] == 9 == check(job, book).counts[Outcome.UNKNOWN]

    def judged() -> tuple[int, bool]:
        report = check(fresh(job), book)
        return report.counts[Outcome.FAIL], report.is_clean

    def judged_again() -> tuple[int, bool]:
        report = check(job, book)
        return report.counts[Outcome.FAIL], report.is_clean

    def judged_whole() -> tuple[int, bool]:
        report = check(fresh(whole), book)
        return report.counts[Outcome.FAIL], report.is_clean

    def standing_against() -> int:
        report = check(fresh(job), book)
        assert not report.is_clean
        return len(report.failing) + len(report.unknown) + report.counts[Outcome.FAIL]

    def all_findings() -> None:
        report = check(fresh(job), book)
        for each in report.findings:
            each.measured, each.limit, each.margin  # noqa: B018 - reading them is what is timed

    a = "verdicts, counts, is_clean"
    times = side_by_side(
        {
            a: judged,
            "the same car, all readings known": judged_whole,
            "the same job judged again": judged_again,
            "failing and unknown findings as objects": standing_against,
            "240 findings with measured, limit, margin read": all_findings,
            "JSON text to compact JSON report": lambda: report_to_json(
                check(read_job(text), book), form="compact"
            ),
            "booleans by hand": lambda: by_hand.booleans(job),
            "booleans by hand, missing never thought of": lambda: by_hand.booleans_if_complete(whole),
            "240 attrs findings by hand": lambda: findings_by_hand(job),
            **zens,
            "zen-engine from the same text": lambda: zen_judge(msgspec.json.decode(text)),
            "rule-engine": rule_engine_car,
        },
        rounds=rounds,
    )
    zen = min(zens, key=lambda form: times[form])
    slim = "booleans by hand, missing never thought of"
    return [
        *(Row(f"zen-engine, {form}", times[form]) for form in zens),
        Row("booleans by hand", times["booleans by hand"]),
        Row(slim, times[slim]),
        Row("240 attrs findings by hand", times["240 attrs findings by hand"]),
        Row("rule-engine", times["rule-engine"]),
        Row("zen-engine from the same text", times["zen-engine from the same text"]),
        attrs.evolve(compared(a, times, zen, most=1 / 8), against=f"zen-engine, {zen}"),
        compared(a, times, "rule-engine", most=1 / 200),
        compared(a, times, "booleans by hand", most=1.6),
        compared(a, times, slim),
        compared("the same car, all readings known", times, "booleans by hand"),
        compared("the same job judged again", times, "booleans by hand"),
        attrs.evolve(
            compared("failing and unknown findings as objects", times, zen, most=1 / 4),
            against=f"zen-engine, {zen}",
        ),
        attrs.evolve(
            compared("240 findings with measured, limit, margin read", times, zen, most=1 / 2),
            against=f"zen-engine, {zen}",
        ),
        compared("240 findings with measured, limit, margin read", times, "240 attrs findings by hand"),
        compared("JSON text to compact JSON report", times, "zen-engine from the same text", most=1.0),
    ]


# --- text with units ---------------------------------------------------------------------------

_TORQUES = ("valve_nut", "sensor_nut", "sensor_screw", "valve_core", "wheel_fixing")


def _twelve(drop: int) -> dict[str, str]:
    """Return twelve readings as text, others for each number below a thousand."""
    return {
        **{f"{name}_torque_min": f"{2 + at}.{drop:03} N.m" for at, name in enumerate(_TORQUES)},
        **{f"{name}_torque_max": f"{70 + at}.{drop:03} lbf.in" for at, name in enumerate(_TORQUES)},
        "cold_pressure": f"2.{drop:03} bar",
        "seating_pressure_max": f"48.{drop:03} psi",
    }


def reading_text(rounds: int = 21) -> list[Row]:
    """Return the rows of twelve fields given as text with units, beside plain floats."""
    plain_record = attrs.make_class(
        "PlainRecord",
        {each.name: attrs.field(default=None) for each in attrs.fields(MakerInstruction)},  # type: ignore[arg-type]
        frozen=True,
        kw_only=True,
    )
    twelve: dict[str, Any] = _twelve(5)
    floats = {name: getattr(MakerInstruction(source="plate", **twelve), name) for name in twelve}
    made = plain_record(source="plate", **floats)
    assert all(getattr(made, name) == value for name, value in floats.items())

    # with room for few, the memo has forgotten each when its turn comes again
    unseen: Iterator[dict[str, Any]] = cycle([_twelve(drop) for drop in range(1000)])
    memo: Any = units._measure_text
    small = lru_cache(maxsize=64)(memo.__wrapped__)

    def cold() -> object:
        return MakerInstruction(source="plate", **next(unseen))

    def timed() -> dict[str, float]:
        units._measure_text = small  # type: ignore[assignment]
        try:
            return side_by_side({"12 texts with units, never seen before": cold, **ways}, rounds=rounds)
        finally:
            units._measure_text = memo

    ways = {
        "12 texts with units, each seen before": lambda: MakerInstruction(source="plate", **twelve),
        "12 plain floats": lambda: plain_record(source="plate", **floats),
    }
    times = timed()
    assert small.cache_info().misses > small.cache_info().maxsize * 10
    against = "12 plain floats"
    return [
        Row(against, times[against]),
        compared("12 texts with units, each seen before", times, against, most=10),
        compared("12 texts with units, never seen before", times, against, most=10),
    ]


# --- import --------------------------------------------------------------------------------------


def importing(rounds: int = 9) -> list[Row]:
    """Return the rows of import times, each in a process of its own."""
    what = {
        "import stemlore": "import stemlore",
        "from stemlore import check, read_job, rulebook": "from stemlore import check, read_job, rulebook",
        "import pint": "import pint",
    }
    times = side_by_side({name: _imported(code) for name, code in what.items()}, rounds=rounds, each=0)
    inside = {name: sorted(_taken[code])[len(_taken[code]) // 2] for name, code in what.items()}
    assert set(times) == set(inside)
    return [
        Row("import pint", inside["import pint"]),
        compared("import stemlore", inside, "import pint", most=1.0),
        compared("from stemlore import check, read_job, rulebook", inside, "import pint"),
    ]


_taken: dict[str, list[float]] = {}


def _imported(code: str) -> Callable[[], None]:
    timed = f"from time import perf_counter as p; a = p(); {code}; print(p() - a)"

    def run() -> None:
        out = subprocess.run([sys.executable, "-c", timed], capture_output=True, text=True, check=True)
        _taken.setdefault(code, []).append(float(out.stdout))

    return run


# --- opening a rulebook --------------------------------------------------------------------------


def _forget() -> None:
    """Empty every memo of the library, as in a new process whose modules are loaded."""
    for name, module in list(sys.modules.items()):
        if name.startswith("stemlore"):
            for each in list(vars(module).values()):
                if hasattr(each, "cache_clear"):
                    each.cache_clear()
    opened: Any = sys.modules["stemlore.rules.rulebook"]
    opened._books.clear()
    opened._bounds.clear()
    discovery.forget()


def opening(rounds: int = 15) -> list[Row]:
    """Return the rows of opening a rulebook: cold, again, and the first judgement that compiles."""
    installed = discovery.discover()
    files: list[Path] = []
    for pack in (PACK, *(found.folder.path for found in installed.at("world"))):
        # what the tests of a pack alone read is no part of opening it
        files += [
            file for file in sorted(pack.rglob("*.toml")) if file.name not in ("cases.toml", "released.toml")
        ]
    job = job_of(gaps=True)

    def toml() -> None:
        for file in files:
            tomllib.loads(file.read_text("utf-8"))

    def cold() -> None:
        _forget()
        packs = {
            name: attrs.evolve(each, folder=PackFolder(each.folder.path))
            for name, each in installed.packs.items()
        }
        fresh_packs = discovery.with_folders(attrs.evolve(installed, packs=packs), [PackFolder(PACK)])
        discovery._kept[False] = fresh_packs
        book = rulebook("XA", on=DAY)
        assert "xa.tyre.min_depth" in book.rules

    def again() -> None:
        rulebook("XA", on=DAY)

    taken: dict[str, list[float]] = {name: [] for name in ("toml", "cold", "compile", "again")}
    for _ in range(rounds):
        for name, way in (
            ("toml", toml),
            ("cold", cold),
            ("compile", lambda: check(fresh(job), rulebook("XA", on=DAY))),
            ("again", again),
        ):
            start = perf_counter()
            way()
            taken[name].append(perf_counter() - start)
    _forget()
    times = {name: sorted(each)[len(each) // 2] for name, each in taken.items()}
    times["both"] = times["cold"] + times["compile"]
    return [
        Row("the same TOML read with tomllib", times["toml"]),
        attrs.evolve(
            compared("opening a rulebook, cold", times, "toml", most=4, of="cold"), against="tomllib"
        ),
        attrs.evolve(
            compared("the first judgement, which compiles", times, "toml", of="compile"), against="tomllib"
        ),
        attrs.evolve(compared("both together", times, "toml", most=4, of="both"), against="tomllib"),
        attrs.evolve(
            compared("opening it again", times, "cold", most=0.01, of="again"), against="opening it cold"
        ),
    ]


def main(arguments: list[str]) -> None:
    """Print the whole table."""
    rows = [*verdicts(), *reading_text(), *importing(), *opening()]
    print((markdown if "--markdown" in arguments else plain)(rows))


if __name__ == "__main__":
    main(sys.argv[1:])
