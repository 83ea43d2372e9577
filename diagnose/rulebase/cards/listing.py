"""What there is: every rule by kind and area, and finding one by its name or nearly its name."""

from collections.abc import Mapping
from difflib import get_close_matches
from itertools import groupby
from pathlib import PurePath

from pydantic import BaseModel

from diagnose.rulebase.base import KINDS, Kind, RuleBase
from diagnose.rulebase.schema import Cause, Finding, Step

FORMAT = 1
WIDTH = 120
NAME_WIDTH = 30


def rules_of(base: RuleBase, kind: Kind) -> Mapping[str, BaseModel]:
    """Return all rules of one kind by id."""
    found: Mapping[str, BaseModel] = getattr(base, kind)
    return found


def area(base: RuleBase, kind: Kind, name: str) -> str:
    """Return the folder inside its kind's folder in which a rule is filed, or nothing."""
    folders = PurePath(base.document(kind, name).file).parts[1:-1]
    return folders[-1] if folders else ""


def title(base: RuleBase, kind: Kind, name: str) -> str:
    """Return the readable name of a rule; a notice has none, so the start of its text."""
    rule = rules_of(base, kind)[name]
    if isinstance(rule, Cause | Finding | Step):
        return base.text(rule.name)
    return base.text(base.notices[name].text)


def counts(base: RuleBase) -> dict[str, int]:
    """Return how many rules of each kind there are, and sources."""
    return {kind: len(rules_of(base, kind)) for kind in KINDS} | {"sources": len(base.sources)}


def counts_text(base: RuleBase) -> str:
    """Return the counts in one phrase."""
    return ", ".join(f"{count} {kind if count != 1 else kind[:-1]}" for kind, count in counts(base).items())


def filed(base: RuleBase, kind: Kind) -> list[str]:
    """Return the ids of one kind by area, then by name."""
    return sorted(rules_of(base, kind), key=lambda name: (area(base, kind, name), name))


def find(base: RuleBase, name: str) -> list[Kind]:
    """Return the kinds in which there is a rule of this name."""
    return [kind for kind in KINDS if name in rules_of(base, kind)]


def nearest(base: RuleBase, name: str) -> list[str]:
    """Return up to three rules whose names are nearly `name`."""
    return get_close_matches(
        name.replace("-", "_"), sorted({known for kind in KINDS for known in rules_of(base, kind)})
    )


def list_dict(base: RuleBase) -> dict[str, object]:
    """Return the counts and one entry for each rule."""
    rules = [
        {
            "kind": kind[:-1],
            "id": name,
            "area": area(base, kind, name),
            "name": title(base, kind, name),
            "file": base.document(kind, name).file,
        }
        for kind in KINDS
        for name in filed(base, kind)
    ]
    return {"format": FORMAT, "counts": counts(base), "rules": rules}


def list_text(base: RuleBase) -> str:
    """Return the counts and one line for each rule, grouped by kind and area."""
    lines = [f"{counts_text(base)}."]
    for kind in KINDS:
        for folder, group in groupby(filed(base, kind), key=lambda name: area(base, kind, name)):
            names = list(group)
            lines += ["", f"{kind.capitalize()}{f', {folder}' if folder else ''} ({len(names)})"]
            lines += [_cut(f"  {name:<{NAME_WIDTH}} {title(base, kind, name)}") for name in names]
    return "\n".join(lines)


def _cut(line: str) -> str:
    return line if len(line) <= WIDTH else f"{line[: WIDTH - 3].rstrip()}..."
