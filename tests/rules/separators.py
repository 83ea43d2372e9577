"""Whether one answer tells two confusable causes apart."""

from diagnose.inference.likelihood import Row, Tables, decibans
from diagnose.rulebase.base import RuleBase
from tests.rules.test_separators import PAIRS

Separator = tuple[str, str, str]


def separators() -> list[Separator]:
    """Return (cause, cause, finding) of the table of confusable causes."""
    return PAIRS


def contrasts(base: RuleBase, tables: Tables, first: str, second: str, finding: str) -> list[tuple[float, float]]:
    """Return, for each answer (or level) of a finding, its weight in dB for the one and for the other cause.

    Weights under a condition are taken to speak.
    """
    usual = tables.bases[finding]

    def row(cause: str) -> Row:
        every = frozenset((cause, index) for index in range(len(base.causes[cause].shows)))
        return tables.shown(cause, finding, every) or usual

    ask = base.findings[finding].ask
    groups = [answer.levels for answer in ask.answers] if ask else [(level,) for level in usual]
    rows = row(first), row(second)
    return [(decibans(rows[0], usual, group), decibans(rows[1], usual, group)) for group in groups]


def separated(base: RuleBase, tables: Tables, pair: Separator) -> bool:
    """Return whether some answer speaks for one of the two causes and against the other."""
    return min(one * other for one, other in contrasts(base, tables, *pair)) < -0.1
