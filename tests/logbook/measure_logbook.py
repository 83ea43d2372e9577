"""Measures the log with 100,000 shots: run it by hand, ``python tests/logbook/measure_logbook.py``.

It fails where a query misses its budget: 5 ms for the last 50 shots and for what sizing asks before each step, so
that a whole turn stays within 50 ms.
"""

import json
import statistics
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

from diagnose.logbook import Logbook, PulledShot
from diagnose.model import Quantity

SHOTS = 100_000
BUDGET_MS = 5.0
START = datetime(2031, 1, 1, 7, tzinfo=UTC)


def exported_shots() -> Iterator[str]:
    """Yield an export of 100,000 shots of 40 coffees at 30 settings; every 20th shot is withdrawn again."""
    yield json.dumps({"format": "diagnose-log", "version": 1})
    for number in range(SHOTS):
        at = (START + timedelta(minutes=5 * number)).isoformat()
        measures = {
            name: {"value": value, "low": value, "high": value, "unit": unit, "shown": f"{value} {unit}"}
            for name, value, unit in (
                ("dose", 18.0 + number % 3 / 10, "g"),
                ("yield", 36.0 + number % 7, "g"),
                ("time", 24.0 + number % 11, "s"),
                ("dial", float(number * 7 % 30), "notch"),
            )
        }
        finding = {"id": "flow", "levels": ["gushing"], "source": "measured", "value": 24.0, "unit": "s"}
        what = {
            "number": 1 + number % 5,
            "setting": "home",
            "coffee": f"Invented blend {number * number % 40}",
            "measures": measures,
            "findings": [finding, {"id": "taste_lean", "levels": ["sour"], "source": "said"}],
            "text": "18 g in, 36 g out, 24 s on 12, sour and thin",
        }
        yield json.dumps({"uid": f"s{number}", "kind": "shot", "at": at, "about": None, "what": what})
        if number % 20 == 0:
            undo = {"uid": f"r{number}", "kind": "retraction", "at": at, "about": f"s{number}"}
            yield json.dumps({**undo, "what": {"reason": "undo"}})


def timed(call: Callable[[], object], repeats: int) -> tuple[float, float]:
    """Return median and 95th percentile of a call's duration in ms."""
    spent = []
    for _ in range(repeats):
        begin = time.perf_counter()
        call()
        spent.append(1e3 * (time.perf_counter() - begin))
    return statistics.median(spent), statistics.quantiles(spent, n=20)[-1]


def say(line: str) -> None:
    """Write one line of the report."""
    sys.stdout.write(f"{line}\n")


def main() -> int:
    """Build the log, print one line a call, and return 1 if a query misses its budget."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "log.sqlite3"
        with Logbook.open(path, lambda: START + timedelta(days=1000)) as log:
            begin = time.perf_counter()
            log.import_lines(exported_shots())
            log.remember("machine_type", "lever")
            say(f"import of {SHOTS} shots {time.perf_counter() - begin:.1f} s, {path.stat().st_size / 1e6:.0f} MB")
            shot = PulledShot(1, coffee="Invented blend 1", measures={"time": Quantity.exact(27.0, "s")})
            queries: dict[str, Callable[[], object]] = {
                "last 50 shots": log.shots,
                "last 50 shots of one coffee": lambda: log.shots("invented blend 1"),
                "last 50 shots of one coffee at one setting": lambda: log.shots("invented blend 1", 7.0),
                "last 50 shots at one setting": lambda: log.shots(dial=7.0),
                "last 50 shots at a setting never used": lambda: log.shots(dial=7.5),
                "one row by its number": lambda: log.entry(1),
                "a fact": lambda: log.recall("machine_type"),
                "count of all shots": log.count_shots,
                "shots since a day": lambda: log.count_shots(START + timedelta(days=340)),
            }
            medians = {}
            for name, call in queries.items():
                medians[name], slow = timed(call, 100)
                say(f"{name}: median {medians[name]:.2f} ms, p95 {slow:.2f} ms")
            say("adding a shot: median {:.2f} ms, p95 {:.2f} ms".format(*timed(lambda: log.add_shot(shot), 100)))
            begin = time.perf_counter()
            lines = sum(1 for _ in log.export_lines())
            say(f"export of {lines} lines {time.perf_counter() - begin:.1f} s")
        opening, slow = timed(lambda: Logbook.open(path, lambda: START).close(), 50)
        say(f"opening and closing: median {opening:.2f} ms, p95 {slow:.2f} ms")
    return int(any(spent > BUDGET_MS for name, spent in medians.items() if not name.startswith("count")))


if __name__ == "__main__":
    sys.exit(main())
