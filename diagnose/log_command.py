"""What ``diagnose log list|show|retract|export|import|spread|path`` does.

Each function prints its answer and returns the exit code. All but `path` raise LogError where there is a log that
cannot be used; where there is none yet they say so and make none, but for `import`.
"""

import os
import sys
from argparse import Namespace
from collections.abc import Callable, Iterator, Mapping
from contextlib import ExitStack, closing, nullcontext
from dataclasses import asdict
from datetime import UTC, datetime
from pathlib import Path
from typing import BinaryIO

from diagnose.errors import DiagnoseError
from diagnose.logbook import Imported, Logbook
from diagnose.upkeep.chart import spread_lines, too_few_lines
from diagnose.upkeep.drawing import svg
from diagnose.upkeep.lines import counted
from diagnose.upkeep.output import print_json, print_lines
from diagnose.upkeep.places import log_place, logged, new_file, nothing_at, reading
from diagnose.upkeep.rows import kind_name, list_lines, plain_row, row_lines
from diagnose.upkeep.spread import Spread, TooFew, spread_of

OK, FOUND = 0, 1
SHOWN_PROBLEMS = 20

Clock = Callable[[], datetime]


def run(options: Namespace, clock: Clock | None = None) -> int:
    """Do what ``diagnose log ACTION`` asks for; `options` are the parsed arguments."""
    if getattr(options, "no_log", False):
        raise DiagnoseError("`diagnose log` is about the log: leave --no-log away.")
    path = log_place(getattr(options, "log", None), os.environ, sys.platform)
    command = _Command(path, options, clock or (lambda: datetime.now(UTC).astimezone()))
    actions = {
        "list": command.list_shots,
        "show": command.show,
        "retract": command.retract,
        "export": command.export,
        "import": command.bring_in,
        "spread": command.spread,
        "path": command.say_path,
    }
    return actions[options.action]()


class _Command:
    """One command about one log."""

    def __init__(self, path: Path, options: Namespace, clock: Clock) -> None:
        self.path = path
        self.options = options
        self.clock = clock
        self.as_json: bool = getattr(options, "json", False)

    def list_shots(self) -> int:
        """Print the newest shots, the newest last."""
        if self.options.last < 1:
            raise DiagnoseError(f"--last {self.options.last} shows nothing: give a number from 1 on.")
        with self._reading() as book:
            shots = book.shots(limit=self.options.last) if book else []
            told = book.count_shots() if book else 0
        if self.as_json:
            rows = [plain_row(entry) for entry in shots]
            print_json({"log": str(self.path), "told": told, "shots": rows})
        elif not shots:
            print_lines([f"No shots in the log {self.path} yet." if logged(self.path) else nothing_at(self.path)])
        else:
            print_lines(list_lines(shots, told))
        return OK

    def show(self) -> int:
        """Print one row in full."""
        with self._reading() as book:
            if book is None:
                return self._nothing({"row": None})
            entry = book.entry(self.options.id)
        if entry is None:
            raise self._no_row()
        if self.as_json:
            print_json({"row": plain_row(entry)})
        else:
            print_lines(row_lines(entry))
        return OK

    def retract(self) -> int:
        """Withdraw one row; it stays in the file and counts no more."""
        with self._reading() as book:
            if book is None:
                return self._nothing({"retracted": None})
            entry = book.entry(self.options.id)
            if entry is None:
                raise self._no_row()
            by = book.retract(entry.id, "undo")
        if self.as_json:
            print_json({"retracted": entry.id, "by": by})
        else:
            said = f"Row {entry.id}, {kind_name(entry)} of {entry.at:%Y-%m-%d %H:%M}, is withdrawn by row {by}."
            print_lines([said, "Both stay in the file; nothing counts the withdrawn one any more."])
        return OK

    def export(self) -> int:
        """Write the whole log as JSON Lines into a new file, or on standard output."""
        target = self.options.file
        with self._reading() as book:
            if book is None:
                sys.stderr.write(f"{nothing_at(self.path)}\n")
                return OK
            if target in {None, "-"}:
                for line in book.export_lines():
                    sys.stdout.write(f"{line}\n")
                return OK
            rows = -1  # the first line is the head
            with new_file(Path(target)) as file:
                for line in book.export_lines():
                    file.write(f"{line}\n")
                    rows += 1
        if self.as_json:
            print_json({"exported": rows, "to": target})
        else:
            print_lines([f"Exported {counted(rows, 'row')} to {target}."])
        return OK

    def bring_in(self) -> int:
        """Add the rows of an export that are not here yet; return 1 if lines had to be left out."""
        source = self.options.file
        with ExitStack() as stack:
            file = sys.stdin.buffer if source == "-" else stack.enter_context(_opened(Path(source)))
            book = stack.enter_context(closing(Logbook.open(self.path, self.clock)))
            done = book.import_lines(_lines(file, source))
        if self.as_json:
            added, problems = dict(done.added), [asdict(problem) for problem in done.problems]
            print_json({"added": added, "known": done.known, "problems": problems})
        else:
            print_lines(_import_lines(done, source))
        return FOUND if done.problems else OK

    def spread(self) -> int:
        """Print the person's own spread at the newest setting that has shots enough; draw it into a file if asked."""
        with self._reading() as book:
            found = spread_of(book) if book else TooFew()
        picture = self.options.svg if isinstance(found, Spread) else None
        if isinstance(found, Spread) and picture is not None:
            with new_file(Path(picture)) as file:
                file.write(svg(found))
        if self.as_json:
            print_json({**_plain_spread(found), "svg": picture})
        elif isinstance(found, TooFew):
            print_lines(too_few_lines(found) if logged(self.path) else [nothing_at(self.path)])
        else:
            print_lines(spread_lines(found, drawn=not getattr(self.options, "plain", False)))
            if picture is not None:
                print_lines(["", f"Drawn in {picture}."])
        return OK

    def say_path(self) -> int:
        """Print where the log lies, whether or not it is there yet."""
        if self.as_json:
            print_json({"path": str(self.path), "exists": logged(self.path)})
        else:
            print_lines([str(self.path)])
        return OK

    def _reading(self) -> "closing[Logbook] | nullcontext[None]":
        return reading(self.path, self.clock)

    def _nothing(self, answer: Mapping[str, object]) -> int:
        if self.as_json:
            print_json({**answer})
        else:
            print_lines([nothing_at(self.path)])
        return OK

    def _no_row(self) -> DiagnoseError:
        return DiagnoseError(
            f"There is no row {self.options.id} in the log that still stands. `diagnose log list` numbers the shots."
        )


def _opened(path: Path) -> BinaryIO:
    try:
        return path.open("rb")
    except OSError as error:
        raise DiagnoseError(f"{path} cannot be read ({error.strerror or error}), so nothing was imported.") from None


def _lines(file: BinaryIO, source: str) -> Iterator[str]:
    """Yield the lines of a file; one that is not UTF-8 comes as text that no row can be, so that it is reported."""
    try:
        for line in file:
            try:
                yield line.decode("utf-8")
            except UnicodeDecodeError:
                yield "not UTF-8"
    except OSError as error:
        why = f"{source} cannot be read to its end ({error.strerror or error}). What was read was imported; try again."
        raise DiagnoseError(why) from None


def _import_lines(done: Imported, source: str) -> Iterator[str]:
    """Yield what an import did, and the lines that could not be used."""
    added = sum(done.added.values())
    kinds = ", ".join(f"{number} {kind}" for kind, number in sorted(done.added.items()))
    yield f"Imported {counted(added, 'row')} from {source}{f' ({kinds})' if kinds else ''}."
    if done.known:
        yield f"{counted(done.known, 'row')} stood here already."
    if not done.problems:
        return
    yield f"{counted(len(done.problems), 'problem')}; the other lines were kept:"
    for problem in done.problems[:SHOWN_PROBLEMS]:
        yield f"  {problem}"
    if len(done.problems) > SHOWN_PROBLEMS:
        yield f"  and {len(done.problems) - SHOWN_PROBLEMS} more; --json gives them all."


def _plain_spread(found: Spread | TooFew) -> dict[str, object]:
    setting = None if found.dial is None else {"coffee": found.coffee, "dial": found.dial}
    if isinstance(found, TooFew):
        return {"setting": setting, "told": found.shots, "chart": None, "shots": []}
    chart = {name: value for name, value in asdict(found.chart).items() if name != "signals"}
    shots = [
        {"id": shot.entry.id, "at": shot.entry.at.isoformat(), "time": shot.time, "signs": list(shot.signs)}
        for shot in found.shots
    ]
    chart |= {"repeatability": found.repeatability, "unit": "s"}
    return {"setting": setting, "told": len(found.shots), "chart": chart, "shots": shots}
