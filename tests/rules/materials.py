"""What the measurements of the rule base share: every example and case as an expectation that can be weighed again.

An expectation is read and chained once; what changes with a changed rule base is weighed anew from there.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import yaml

from diagnose.case.fold import Case, fold
from diagnose.conversation.assess import Assessor
from diagnose.conversation.placing import place
from diagnose.inference.forward import Known
from diagnose.inference.hypotheses import Belief, marginals, root_shares
from diagnose.language import Lexicon, understand
from diagnose.model import NOTHING_WRONG, UNKNOWN, Setting
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.loader import load

FOLDER = Path(__file__).parent


@dataclass(frozen=True)
class Expectation:
    """One text and what its ranking must be: causes among the first `within` (any, or all), and none of `never`.

    `about` is the cause whose file carries an example, "" for a case of the table.
    """

    say: str
    setting: Setting
    about: str
    expect: tuple[str, ...]
    within: int
    every: bool = False
    never: tuple[str, ...] = ()
    root: str = ""

    def met(self, beliefs: Sequence[Belief], base: RuleBase) -> bool:
        """Return whether the ranking is as expected; a root stands where the first cause it leads stands."""
        order = [name for name in marginals(beliefs) if name != UNKNOWN]
        if self.about:
            order = [name for name in order if name != NOTHING_WRONG]
        first = order[: self.within]
        hits = [_stands(cause, first, beliefs, base) for cause in self.expect]
        if not (all(hits) if self.every else any(hits) or not hits):
            return False
        if self.root and next(iter(root_shares(beliefs, order[0])), None) != self.root:
            return False
        return not any(_stands(cause, order[:1], beliefs, base) for cause in self.never)

    def leads(self, beliefs: Sequence[Belief], base: RuleBase) -> bool:
        """Return whether one of the expected causes comes first."""
        order = [name for name in marginals(beliefs) if name != UNKNOWN and (not self.about or name != NOTHING_WRONG)]
        return any(_stands(cause, order[:1], beliefs, base) for cause in self.expect)


def _stands(cause: str, names: Sequence[str], beliefs: Sequence[Belief], base: RuleBase) -> bool:
    """Return whether a cause is among `names`, or as a root leads the roots of one of them."""
    if cause == NOTHING_WRONG or base.causes[cause].prior is not None:
        return cause in names
    return any(next(iter(root_shares(beliefs, name)), None) == cause for name in names)


def examples(base: RuleBase) -> Iterator[Expectation]:
    """Yield the examples of the causes."""
    for name, cause in base.causes.items():
        for hit in cause.examples.hits:
            yield Expectation(hit.say, hit.setting, name, (name,), hit.rank)
        for miss in cause.examples.misses:
            yield Expectation(miss.say, miss.setting, name, (), 1, never=(name,))


def table_cases() -> Iterator[Expectation]:
    """Yield the cases of `cases.yaml` that are told in one text."""
    entries: list[dict[str, Any]] = yaml.safe_load((FOLDER / "cases.yaml").read_text(encoding="utf-8"))
    for entry in entries:
        if isinstance(entry["say"], str):
            within = entry.get("within", 3)
            never, root = tuple(entry.get("not_first", ())), entry.get("root", "")
            expect, every = tuple(entry["expect"]), bool(entry.get("both"))
            yield Expectation(entry["say"], entry.get("setting", "home"), "", expect, within, every, never, root)


@dataclass(frozen=True)
class Read:
    """An expectation with its text read and its rules run."""

    expectation: Expectation
    case: Case
    values: Mapping[str, float]
    known: Known
    complaint: str


class Reader:
    """Reads texts and runs the rules of one rule base on them."""

    def __init__(self, base: RuleBase) -> None:
        """Prepare words and rules."""
        self.base = base
        self.assessor = Assessor(base)
        self._lexicon = Lexicon.from_rules(base)

    def case(self, say: str, setting: Setting) -> Case:
        """Return the case one text adds up to."""
        return fold(self.base, setting, place(self.base, (), understand(say, self._lexicon), None))

    def read(self, expectation: Expectation) -> Read:
        """Return an expectation with what follows from its text."""
        case = self.case(expectation.say, expectation.setting)
        measures, known = self.assessor.know(case)
        return Read(expectation, case, measures.values, known, self.assessor._complaints(case, known)[0])


@cache
def rules() -> RuleBase:
    """Return the installed rule base, loaded once."""
    return load(None)


@cache
def reader() -> Reader:
    """Return the reader of the installed rules."""
    return Reader(rules())


@cache
def materials() -> tuple[Read, ...]:
    """Return every example and case, read once."""
    return tuple(reader().read(expectation) for expectation in (*examples(rules()), *table_cases()))
