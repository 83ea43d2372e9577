"""The nouns all rooms share: plain frozen values, no behaviour beyond simple questions about themselves.

Units are canonical inside the program: g, s, degC, bar, mg/L, days, notch, mL, %, ratio. The person's own unit is
kept beside the value so that answers come back in it.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Literal, TypeVar

K = TypeVar("K")
V = TypeVar("V")

Setting = Literal["home", "service", "training"]
SETTINGS: tuple[Setting, ...] = ("home", "service", "training")

StatementKind = Literal["measurement", "observation", "tried", "belief", "answer", "command"]
Source = Literal["measured", "answered", "said", "derived"]
StepKind = Literal["question", "check", "adjust", "fix", "repeat", "accept", "hand_over"]
Severity = Literal["stop", "caution"]

NOTHING_WRONG = "nothing_wrong"
UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True)
class Quantity:
    """A number with a canonical unit, the interval it may lie in, and the unit the person used.

    `low` and `high` bound the value ("25-30 s" has value 27.5, low 25, high 30; an exact number has low == high).
    `shown` is the number as the person wrote it ("2 oz"), for saying it back.
    """

    value: float
    unit: str
    low: float
    high: float
    shown: str = ""

    @classmethod
    def exact(cls, value: float, unit: str, shown: str = "") -> "Quantity":
        """Return a quantity without spread."""
        return cls(value, unit, value, value, shown)


@dataclass(frozen=True, slots=True)
class Statement:
    """One thing the person said, measured, tried or believes.

    `name` by kind: a measurement's name (dose, time, ...; a recipe's numbers are recipe_dose, recipe_yield,
    recipe_time, recipe_ratio); a finding's id for an observation or an answer; a step's id for `tried`; a cause's or
    finding's id (or "") for a belief; a command's word.
    `levels`: the finding's levels that remain possible ("not sour" already lists the others); none for an answer
    "don't know"; the arguments of a command. `shot` numbers shots from 1, None where it belongs to no shot.
    `outcome` of what was tried: "no_change", "better", "worse" or "" (not said).
    """

    kind: StatementKind
    name: str
    text: str
    shot: int | None = None
    levels: tuple[str, ...] = ()
    quantity: Quantity | None = None
    negated: bool = False
    hedged: bool = False
    source: Source = "said"
    outcome: str = ""


@dataclass(frozen=True, slots=True)
class Refused:
    """A part of the text that could not be used, and why ("" when it was just not understood)."""

    text: str
    reason: str = ""


@dataclass(frozen=True, slots=True)
class Finding:
    """What is taken as known about one finding: the levels that remain possible and where that comes from."""

    id: str
    levels: tuple[str, ...]
    source: Source
    value: float | None = None
    unit: str | None = None


@dataclass(frozen=True, slots=True)
class Firing:
    """One rule that fired: its name, the place it stands in, the facts that made it fire, what it concluded."""

    rule: str
    file: str
    line: int
    facts: tuple[str, ...]
    result: str


@dataclass(frozen=True, slots=True)
class Evidence:
    """What one finding says about one cause: `decibans` is 10 log10 of its likelihood against nothing wrong.

    `grade` is the author's word ("" where the level is not named by the cause and follows from the rest).
    """

    cause: str
    finding: str
    levels: tuple[str, ...]
    decibans: float
    grade: str
    because: str
    file: str
    line: int


@dataclass(frozen=True, slots=True)
class Explanation:
    """How a cause, with its likeliest root, came to its place: all in dB against nothing wrong.

    ``prior_db + sum of evidence + tried_db = posterior_db`` exactly; `tried_db` is what was done without success.
    """

    cause: str
    root: str | None
    prior_db: float
    evidence: tuple[Evidence, ...]
    tried_db: float
    posterior_db: float


@dataclass(frozen=True, slots=True)
class RootShare:
    """A root's share of a cause's probability (the shares and "no special reason" sum to the cause's)."""

    id: str
    probability: float


@dataclass(frozen=True, slots=True)
class RankedCause:
    """One cause with its marginal probability: as a single fault and as a member of pairs."""

    id: str
    name: str
    area: str
    probability: float
    roots: tuple[RootShare, ...] = ()


@dataclass(frozen=True, slots=True)
class Range:
    """A named range in a canonical unit: what the next shot should show, or how far to move."""

    name: str
    low: float
    high: float
    unit: str


@dataclass(frozen=True, slots=True)
class Amount:
    """How far to move something, as a range in a canonical unit."""

    low: float
    high: float
    unit: str


@dataclass(frozen=True, slots=True)
class Answer:
    """One numbered answer to a question: the finding's levels it stands for."""

    number: int
    text: str
    levels: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class StepCost:
    """What a step or a question takes: seconds of the person's time, reading left out, and grams of coffee."""

    seconds: float
    grams: float


@dataclass(frozen=True, slots=True)
class NextStep:
    """The one thing to do now. `cost` is what it takes in the setting of the talk, None where that is not said."""

    kind: StepKind
    id: str
    text: str
    variable: str | None = None
    direction: str | None = None
    amount: Amount | None = None
    hold: tuple[str, ...] = ()
    expect: tuple[Range, ...] = ()
    answers: tuple[Answer, ...] = ()
    finding: str | None = None
    cost: StepCost | None = None


@dataclass(frozen=True, slots=True)
class Notice:
    """Something to beware of. A stop notice comes before any talk of coffee."""

    id: str
    severity: Severity
    text: str


@dataclass(frozen=True, slots=True, order=True)
class Problem:
    """One thing wrong in a rule file. Lines and columns count from 1; 0 means the whole file."""

    file: str
    line: int
    column: int
    code: str
    what: str
    todo: str

    def __str__(self) -> str:
        """Return ``path:line:column: code what. todo``, the form editors can jump to."""
        return f"{self.file}:{self.line}:{self.column}: {self.code} {self.what} {self.todo}"


@dataclass(frozen=True, slots=True)
class Verdict:
    """What the shot after an adjustment says about it: how likely it helped, and that the fault is gone."""

    step: str
    helped: float
    fixed: float


def frozen_map(items: Mapping[K, V]) -> Mapping[K, V]:
    """Return a read-only view of a copy of `items`."""
    return MappingProxyType(dict(items))


@dataclass(frozen=True, slots=True)
class Shot:
    """One shot as told: measurements by name."""

    number: int
    measures: Mapping[str, Quantity] = field(default_factory=dict)
