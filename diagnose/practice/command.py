"""What ``diagnose replay FILE...`` does: replay transcripts, print what differs, and rewrite answers when asked to."""

import io
import json
import sys
from collections.abc import Sequence
from pathlib import Path

from diagnose.errors import DiagnoseError
from diagnose.practice.reading import read
from diagnose.practice.replaying import Replay, replay
from diagnose.practice.transcript import text_of
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.loader import load

FORMAT = 1
OK, FOUND = 0, 1


def run(files: Sequence[str], rules: str | Path | None = None, *, rewrite: bool = False, as_json: bool = False) -> int:
    """Replay every file; return 0 if all replay as written, 1 if one does not, 2 or more if one cannot be replayed.

    With `rewrite` new answers are written into the files, which is no failure; an expectation that is not met is one in
    any case and stays as it is. With `as_json` one object a file and line. A file that cannot be replayed is said on
    the error stream, and the next one follows. Raises RuleBaseError where the rules do not load.
    """
    base = load(rules)
    if isinstance(sys.stdout, io.TextIOWrapper):
        sys.stdout.reconfigure(errors="replace")  # a character the stream cannot carry must not end the run
    return max(_one(Path(file), base, rewrite=rewrite, as_json=as_json) for file in files)


def _one(path: Path, base: RuleBase, *, rewrite: bool, as_json: bool) -> int:
    try:
        done = replay(read(text_of(path), str(path)), base)
        if rewrite and done.changes:
            _write(path, done.text)
    except DiagnoseError as error:
        sys.stderr.write(f"{error}\n")
        if as_json:
            _print_json({"format": FORMAT, "file": str(path), "error": str(error)})
        return error.exit_code
    if as_json:
        _print_json(_as_dict(done, rewritten=rewrite))
    else:
        sys.stdout.write(_as_text(done, rewritten=rewrite))
    return FOUND if done.missed or (done.changes and not rewrite) else OK


def _write(path: Path, text: str) -> None:
    try:
        path.write_text(text, encoding="utf-8")
    except OSError as error:
        raise DiagnoseError(f"{path}: it cannot be written ({error.strerror}). Its answers are as they were.") from None


def _as_text(done: Replay, *, rewritten: bool) -> str:
    """Return what came of one file: the turns and the diff, then every expectation that is not met."""
    file, turns = done.transcript.file, len(done.transcript.turns)
    lines = [f"{file}: {'all' if not done.changes else len(done.changes)} of {turns} turns {_fate(done, rewritten)}"]
    if rewritten:
        lines += [
            f"{file}:{change.turn.line}: turn {change.turn.number}, {len(change.before)} → {len(change.after)} lines"
            for change in done.changes
        ]
    if done.diff:
        lines.append(done.diff.rstrip("\n"))
    lines += [f"{file}:{one.expectation.line}: NOT MET {one.expectation}; found {one.found}" for one in done.missed]
    return "\n".join(lines) + "\n"


def _fate(done: Replay, rewritten: bool) -> str:
    if not done.changes:
        return "are answered as written."
    return "rewritten:" if rewritten else "are answered otherwise; --rewrite writes the new answers down:"


def _as_dict(done: Replay, *, rewritten: bool) -> dict[str, object]:
    """Return what came of one file as plain values."""
    return {
        "format": FORMAT,
        "file": done.transcript.file,
        "title": done.transcript.title,
        "turns": len(done.transcript.turns),
        "same": not done.changes,
        "rewritten": rewritten and bool(done.changes),
        "changes": [
            {"turn": c.turn.number, "line": c.turn.line, "before": list(c.before), "after": list(c.after)}
            for c in done.changes
        ],
        "missed": [
            {
                "turn": one.expectation.turn or None,
                "line": one.expectation.line,
                "expected": f"{one.expectation.key} {one.expectation.wanted}",
                "found": one.found,
            }
            for one in done.missed
        ],
        "diff": done.diff,
    }


def _print_json(answer: dict[str, object]) -> None:
    sys.stdout.write(json.dumps(answer, ensure_ascii=False) + "\n")
