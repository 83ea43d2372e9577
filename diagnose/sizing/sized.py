"""What a sizing function is given and what it returns, and how numbers are written for people."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from diagnose.case.fold import Case
from diagnose.case.history import NO_HISTORY, History
from diagnose.case.measures import Measures
from diagnose.model import Amount, Range
from diagnose.rulebase.schema import Step


@dataclass(frozen=True, slots=True)
class Request:
    """A step to be sized in a case. `flow` is the level of the shot's speed as far as it is known, else ""."""

    step: Step
    case: Case
    measures: Measures
    history: History = NO_HISTORY
    flow: str = ""


@dataclass(frozen=True, slots=True)
class Sized:
    """How far to move and what the next shot should show; `fields` fill the step's text."""

    amount: Amount | None = None
    expect: tuple[Range, ...] = ()
    fields: Mapping[str, str] = field(default_factory=dict)


def number(value: float, step: float = 1.0) -> str:
    """Return a value rounded to `step` without needless decimals: 18, 18.5, 0.5."""
    rounded = round(value / step) * step
    return f"{rounded:.1f}".removesuffix(".0")


def span(low: float, high: float, unit: str, step: float = 1.0) -> str:
    """Return "17 to 27 s", or "18 g" where both ends read the same."""
    first, last = number(low, step), number(high, step)
    return f"{first} {unit}" if first == last else f"{first} to {last} {unit}"
