"""The examples the rule files carry: hits rank their cause, near misses do not put it first."""

from diagnose.conversation.examples import ExampleRunner, failing_examples
from diagnose.rulebase.base import RuleBase


def test_every_example_of_the_shipped_rules_holds(rules: RuleBase) -> None:
    """Each cause has at least two hits and two near misses, and all of them come out as written."""
    for name, cause in rules.causes.items():
        assert len(cause.examples.hits) >= 2, name
        assert len(cause.examples.misses) >= 2, name
    assert failing_examples(rules) == []


def test_an_example_that_fails_says_how(rules: RuleBase) -> None:
    """A hit that ranks elsewhere and a near miss that comes first are both named."""
    runner = ExampleRunner(rules)
    examples = rules.causes["dose_low"].examples
    assert "near miss" in runner.fault("dose_low", examples.hits[0], hit=False)
    assert "in place" in runner.fault("grind_too_fine", examples.hits[0], hit=True)
    assert runner.fault("dose_low", examples.hits[0], hit=True) == ""
