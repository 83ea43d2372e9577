"""The table of signs: for each cause the levels that speak for it and against it, judged from the trade.

It is a second entry of the same facts, made apart from the weights: a sign turned round, a weight lost or given to the
wrong cause shows at once.
"""

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from functools import cache

import yaml

from diagnose.rulebase.base import RuleBase
from tests.rules.materials import FOLDER

SIGNS = ("for", "against")


@dataclass(frozen=True)
class Sign:
    """A level of a finding that speaks for a cause, or against it."""

    cause: str
    finding: str
    level: str
    sign: str


@cache
def signs() -> tuple[Sign, ...]:
    """Return the whole table."""
    found: list[Sign] = []
    for path in sorted((FOLDER / "signs").glob("*.yaml")):
        table: Mapping[str, Mapping[str, Mapping[str, list[str]]]] = yaml.safe_load(path.read_text(encoding="utf-8"))
        for cause, findings in table.items():
            for finding, said in findings.items():
                found += [Sign(cause, finding, level, sign) for sign, levels in said.items() for level in levels]
    return tuple(found)


def said_by(base: RuleBase, cause: str, finding: str, level: str) -> set[str]:
    """Return how the rules let a level speak of a cause; both ways where that hangs on a condition."""
    shows = (show for show in base.causes[cause].shows if show.finding == finding)
    grades = {show.levels.get(level, "neutral") for show in shows} - {"neutral"}
    return {"against" if grade.endswith("against") else "for" for grade in grades}


def missed(base: RuleBase, causes: Collection[str]) -> Iterator[Sign]:
    """Yield the signs of some causes that the rules do not hold to."""
    for sign in signs():
        if sign.cause in causes and said_by(base, sign.cause, sign.finding, sign.level) != {sign.sign}:
            yield sign
