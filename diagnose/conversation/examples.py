"""Runs the examples that rule files carry: a hit must rank its cause high, a near miss must not put it first."""

from collections.abc import Iterator, Sequence

from diagnose.case.fold import fold
from diagnose.conversation.assess import Assessor
from diagnose.conversation.placing import place
from diagnose.inference.hypotheses import Belief, marginals, root_shares
from diagnose.language import Lexicon, understand
from diagnose.model import Problem, Setting
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.schema import Example

CODE = "failing-example"


class ExampleRunner:
    """Ranks causes for a single text, without choosing a next step."""

    def __init__(self, base: RuleBase) -> None:
        """Compile the rules once for all examples."""
        self.base = base
        self._assessor = Assessor(base)
        self._lexicon = Lexicon.from_rules(base)

    def beliefs(self, text: str, setting: Setting) -> Sequence[Belief]:
        """Return the hypotheses with their probabilities for one text."""
        heard = understand(text, self._lexicon)
        case = fold(self.base, setting, place(self.base, (), heard, None))
        return self._assessor.beliefs(case)

    def place_of(self, cause: str, text: str, setting: Setting) -> int:
        """Return the place of `cause` among the causes, from 1; a root has that of the cause it leads the roots of."""
        beliefs = self.beliefs(text, setting)
        order = [name for name in marginals(beliefs) if name in self.base.causes]
        if self.base.causes[cause].prior is not None:
            return order.index(cause) + 1 if cause in order else len(order) + 1
        for position, name in enumerate(order, 1):
            if next(iter(root_shares(beliefs, name)), None) == cause:
                return position
        return len(order) + 1

    def problems(self) -> Iterator[Problem]:
        """Yield a problem for every example that fails."""
        for name, cause in self.base.causes.items():
            document = self.base.document("causes", name)
            for kind, examples in (("hits", cause.examples.hits), ("misses", cause.examples.misses)):
                for index, example in enumerate(examples):
                    what = self.fault(name, example, hit=kind == "hits")
                    if what:
                        todo = "Change the grades, the words or the example; `diagnose ask --json` shows the weights."
                        yield document.problem(("examples", kind, index), CODE, what, todo)

    def fault(self, cause: str, example: Example, *, hit: bool) -> str:
        """Return what is wrong with the result of one example, or "" if nothing is."""
        place_found = self.place_of(cause, example.say, example.setting)
        if hit and place_found > example.rank:
            return f"{example.say!r} puts this cause in place {place_found}, not within {example.rank}."
        if not hit and place_found == 1:
            return f"{example.say!r} puts this cause first, though it is a near miss."
        return ""


def failing_examples(base: RuleBase) -> list[Problem]:
    """Run all examples of a rule base; return a problem for each that fails."""
    return list(ExampleRunner(base).problems())
