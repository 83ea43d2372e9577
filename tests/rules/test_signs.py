"""Every sign of the table stands in the rules, and the table covers nearly all the rules say."""

from diagnose.rulebase.base import RuleBase
from tests.rules.signs import SIGNS, missed, signs

COVERED = 0.95  # new weights need not wait for a row of the table, but it must not fall behind


def test_the_table_names_what_exists(rules: RuleBase) -> None:
    """Causes, findings, levels and signs are known ones, and none stands twice or both ways."""
    for sign in signs():
        assert sign.cause in rules.causes, sign
        assert sign.level in rules.findings[sign.finding].levels, sign
        assert sign.sign in SIGNS, sign
    assert len({(one.cause, one.finding, one.level) for one in signs()}) == len(signs())


def test_the_rules_hold_to_every_sign(rules: RuleBase) -> None:
    """A level said to speak for a cause does so in the rules, never against it, and the other way round."""
    assert not list(missed(rules, rules.causes))


def test_the_table_covers_nearly_every_weight(rules: RuleBase) -> None:
    """At least 95 of 100 weights were judged twice."""
    weighed = {
        (cause, show.finding, level)
        for cause, spec in rules.causes.items()
        for show in spec.shows
        for level, grade in show.levels.items()
        if grade != "neutral"
    }
    judged = {(one.cause, one.finding, one.level) for one in signs()}
    assert len(weighed & judged) / len(weighed) >= COVERED
