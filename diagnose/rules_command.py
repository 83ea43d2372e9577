"""What ``diagnose rules check|list|show|map|copy`` does. Each function prints its answer and returns the exit code.

Answers go to standard output, what went wrong with a request to standard error. All raise RuleBaseMissing where there
is no rules folder, and all but `check` and `copy` raise RuleBaseError when the rules do not load.
"""

import json
import os
import shlex
import sys
from argparse import Namespace
from collections.abc import Callable, Iterable
from dataclasses import asdict, replace
from pathlib import Path

from diagnose.model import Problem
from diagnose.rulebase import cards
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.checks import everything
from diagnose.rulebase.loader import load, read_rules
from diagnose.rulebase.location import rules_folder
from diagnose.rulebase.vocabulary import COMPLAINTS

OK, FOUND, USAGE = 0, 1, 2
SOURCES = "sources.yaml"

Rules = str | Path | None
Examples = Callable[[RuleBase], Iterable[Problem]]


def run(
    action: str,
    rules: Rules,
    options: Namespace,
    *,
    as_json: bool = False,
) -> int:
    """Do what ``diagnose rules ACTION`` asks for; `options` holds the arguments `name` (show) and `folder` (copy)."""
    if action == "show":
        return show(options.name, rules, as_json=as_json)
    if action == "copy":
        return copy(options.folder, rules, as_json=as_json)
    if action == "check":
        return check(rules, as_json=as_json)
    return {"list": list_rules, "map": map_rules}[action](rules, as_json=as_json)


def check(rules: Rules = None, *, as_json: bool = False, examples: Examples | None = None) -> int:
    """Print every problem of the rule files in file order and their number; return 1 if there is any.

    While files cannot be read the other checks wait, since every rule in them would look missing to the rest.
    `examples` runs the examples of the causes and returns those that fail.
    """
    folder = rules_folder(rules)
    base, problems = read_rules(folder)
    unread = bool(problems)
    problems = sorted(problems) if unread else everything(base, examples)
    if as_json:
        found = [asdict(problem) for problem in problems]
        _print_json({"format": cards.FORMAT, "counts": cards.counts(base), "problems": found})
    elif problems:
        shown = _shown(folder)
        for problem in problems:
            _print(str(replace(problem, file=str(shown / problem.file))))
        files = len({problem.file for problem in problems})
        _print(f"{_number(len(problems), 'problem')} in {_number(files, 'file')}.")
        if unread:
            _print("The other checks run once every file can be read.")
    else:
        _print(f"No problems: {cards.counts_text(base)}.")
    return FOUND if problems else OK


def list_rules(rules: Rules = None, *, as_json: bool = False) -> int:
    """Print the counts and one line for each rule; return 0."""
    base = load(rules)
    if as_json:
        _print_json(cards.list_dict(base))
    else:
        _print(cards.list_text(base))
    return OK


def show(name: str, rules: Rules = None, *, as_json: bool = False) -> int:
    """Print the card of a cause, finding, step or notice; return 2 and the nearest names if there is none."""
    base = load(rules)
    kinds = cards.find(base, name)
    if not kinds:
        near = cards.nearest(base, name)
        todo = f"Did you mean {' or '.join(near)}?" if near else "`diagnose rules list` names them all."
        return _refuse(f"there is no cause, finding, step or notice {name!r}. {todo}")
    if as_json:
        _print_json({"format": cards.FORMAT, "cards": [cards.card_dict(base, kind, name) for kind in kinds]})
    else:
        _print("\n\n".join(cards.card_text(base, kind, name) for kind in kinds))
    return OK


def map_rules(rules: Rules = None, *, complaint: str | None = None, as_json: bool = False) -> int:
    """Print causes against findings, of one complaint or a page for each; return 2 for an unknown complaint."""
    if complaint is not None and complaint not in COMPLAINTS:
        return _refuse(f"there is no complaint {complaint!r}. It is one of: {', '.join(COMPLAINTS)}.")
    base = load(rules)
    complaints = (complaint,) if complaint else COMPLAINTS
    if as_json:
        _print_json(cards.map_dict(base, complaints))
    else:
        _print(cards.map_text(base, complaints))
    return OK


def copy(target: str | Path, rules: Rules = None, *, as_json: bool = False) -> int:
    """Copy the rules folder to `target` for editing and say how to use it; return 2 rather than overwrite anything."""
    folder, place = rules_folder(rules), Path(target)
    if place.exists() and (not place.is_dir() or any(place.iterdir())):
        return _refuse(f"{place} is there already and nothing was copied. Name a folder that does not exist yet.")
    if place.resolve().is_relative_to(folder.resolve()):
        return _refuse(f"{place} lies inside the rules it would copy. Name a folder outside of {folder}.")
    files = sorted(path for path in folder.rglob("*") if path.is_file())
    try:
        for path in files:
            copied = place / path.relative_to(folder)
            copied.parent.mkdir(parents=True, exist_ok=True)
            copied.write_bytes(path.read_bytes())
    except OSError as error:
        return _refuse(f"the rules could not be copied to {place} ({error.strerror}). Name a folder you may write to.")
    if as_json:
        _print_json({"format": cards.FORMAT, "copied": len(files), "to": str(place)})
    else:
        given = shlex.quote(str(place))
        _print(f"Copied {_number(len(files), 'file')} to {place}. Edit them there; {place / 'README.md'} shows how.")
        _print(f"Check them:  diagnose rules check --rules {given}")
        _print(f"Use them:    diagnose --rules {given}")
    return OK


def _shown(folder: Path) -> Path:
    """Return the folder as an editor started here would be given it."""
    here = Path.cwd()
    return Path(os.path.relpath(folder.resolve(), here)) if folder.resolve().is_relative_to(here) else folder


def _number(count: int, noun: str) -> str:
    return f"{count} {noun}{'' if count == 1 else 's'}"


def _print(text: str) -> None:
    sys.stdout.write(f"{text}\n")


def _print_json(answer: dict[str, object]) -> None:
    _print(json.dumps(answer, ensure_ascii=False))


def _refuse(why: str) -> int:
    sys.stderr.write(f"diagnose: {why}\n")
    return USAGE
