"""What each kind of rule file may hold, as pydantic models.

Scalars arrive as text (see `reading`), so numbers, words and truth values are converted here and nowhere else.
Unknown keys are refused. Texts for people are mappings from a language code to the text.
"""

from typing import Annotated, Literal

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, model_validator

from diagnose.model import Setting
from diagnose.rulebase.vocabulary import COMPLAINTS, GRADES, MEASURES, PRIORS, VARIABLES


def _one_of(known: dict[str, object] | tuple[str, ...], what: str) -> AfterValidator:
    """Return a validator that accepts a name from `known` and otherwise lists what is known."""

    def check(value: str) -> str:
        if value not in known:
            raise ValueError(f"{value!r} is not a {what}; known: {', '.join(known)}")
        return value

    return AfterValidator(check)


Text = Annotated[dict[str, str], Field(min_length=1)]
Identifier = Annotated[str, Field(pattern=r"^[a-z][a-z0-9_]*$")]
Grade = Annotated[str, _one_of(dict.fromkeys(GRADES), "grade")]
PriorWord = Annotated[str, _one_of(dict.fromkeys(PRIORS), "prior")]
Complaint = Annotated[str, _one_of(COMPLAINTS, "complaint")]
MeasureName = Annotated[str, _one_of(dict.fromkeys(MEASURES), "measure")]
Variable = Annotated[str, _one_of(dict.fromkeys(VARIABLES), "variable")]
Levels = Annotated[tuple[str, ...], BeforeValidator(lambda value: (value,) if isinstance(value, str) else value)]


class _Strict(BaseModel):
    """Base of every part of a rule file: immutable, no unknown keys."""

    model_config = ConfigDict(frozen=True, extra="forbid")


class PerSetting(_Strict):
    """A number per setting."""

    home: float
    service: float
    training: float


class Cost(_Strict):
    """What a step or a check takes: seconds of a person's time and grams of coffee."""

    seconds: Annotated[float, Field(ge=0)]
    grams: Annotated[float, Field(ge=0)] = 0.0


class Costs(_Strict):
    """Cost per setting; a missing setting means it cannot be done there."""

    home: Cost | None = None
    service: Cost | None = None
    training: Cost | None = None

    def of(self, setting: Setting) -> Cost | None:
        """Return the cost in a setting, or None where it cannot be done."""
        return {"home": self.home, "service": self.service, "training": self.training}[setting]


class Price(_Strict):
    """Seconds of the person's time that something is worth, per setting."""

    home: Annotated[float, Field(ge=0, allow_inf_nan=False)]
    service: Annotated[float, Field(ge=0, allow_inf_nan=False)]
    training: Annotated[float, Field(ge=0, allow_inf_nan=False)]

    def of(self, setting: Setting) -> float:
        """Return the price in a setting."""
        return {"home": self.home, "service": self.service, "training": self.training}[setting]


class Prices(_Strict):
    """What steps and questions are weighed by beside their own cost, all in seconds of the person's time."""

    gram: Price
    trouble_stays: Price
    hand_over: Price
    reading: Price
    reading_answer: Price
    patience: Price


class Condition(_Strict):
    """One test of a `when`: a measure against bounds, or a finding against levels."""

    measure: MeasureName | None = None
    below: float | None = None
    at_most: float | None = None
    above: float | None = None
    at_least: float | None = None
    finding: Identifier | None = None
    levels: Levels = Field(default=(), alias="is")

    @model_validator(mode="after")
    def _whole(self) -> "Condition":
        bounds = [self.below, self.at_most, self.above, self.at_least]
        if (self.measure is None) == (self.finding is None):
            raise ValueError("a condition names either a measure or a finding")
        if self.measure is not None and all(bound is None for bound in bounds):
            raise ValueError("a measure needs below, at_most, above or at_least")
        if self.finding is not None and (not self.levels or any(bound is not None for bound in bounds)):
            raise ValueError("a finding needs `is` with one or more levels, and no bounds")
        return self


class ReadRule(_Strict):
    """A forward rule: when all conditions hold, the finding has this level."""

    level: str
    when: Annotated[tuple[Condition, ...], Field(min_length=1)]
    because: Text | None = None


class Level(_Strict):
    """One level of a finding: how common it is when nothing is wrong, how it is said and heard.

    `words` are phrases that state the level. In a phrase, words follow each other; `a|b` accepts either word; ` + `
    joins parts that may come in any order near each other in one sentence; ` - ` names words that must not stand
    between or close around them; `<name>` is any word of that group in the words files. `hedged` is the level meant by
    "a bit ..." of this one.
    """

    base: Annotated[float, Field(gt=0, lt=1)]
    name: Text
    words: dict[str, tuple[str, ...]] = {}
    hedged: str | None = None


class AskedAnswer(_Strict):
    """One numbered answer and the levels it stands for."""

    text: Text
    levels: Levels


class Ask(_Strict):
    """How a finding is asked: a question (answered from memory) or a check (something to do first).

    `needs` bars it when known to be untrue, `only_if` also while unknown: for what would be unsafe otherwise.
    """

    kind: Literal["question", "check"] = "question"
    text: Text
    cost: Costs
    answers: Annotated[tuple[AskedAnswer, ...], Field(min_length=2)]
    needs: tuple[Condition, ...] = ()
    only_if: tuple[Condition, ...] = ()
    cautions: tuple[Identifier, ...] = ()


class Finding(_Strict):
    """One thing that can be known, in exclusive levels.

    `normal` is the level when all is well (none for circumstances); `cluster` names the mechanism that moves several
    findings together; `symptom` marks findings whose abnormal levels are a complaint in themselves; `trust` below 1
    softens what the finding says in a setting where it is often misjudged; `per_shot` findings belong to one shot and
    are not carried over to the next.
    """

    name: Text
    complaints: tuple[Complaint, ...] = ()
    cluster: Identifier | None = None
    normal: str | None = None
    ordered: bool = False
    symptom: bool = False
    per_shot: bool = False
    context: bool = False
    trust: PerSetting = PerSetting(home=1, service=1, training=1)
    source: str = "common_practice"
    levels: Annotated[dict[str, Level], Field(min_length=2)]
    read: tuple[ReadRule, ...] = ()
    ask: Ask | None = None


class Show(_Strict):
    """What a cause does to a finding: grades for named levels; the levels not named share what is left."""

    finding: Identifier
    levels: Annotated[dict[str, Grade], Field(min_length=1)]
    because: Text | None = None
    source: str | None = None
    applies_when: tuple[Condition, ...] = ()


class Root(_Strict):
    """A reason behind a cause, with its share of the cases."""

    cause: Identifier
    share: Annotated[float, Field(gt=0, lt=1)]


class Cure(_Strict):
    """A step that ends the trouble with this chance; `today` marks a compensation that does not remove the cause."""

    step: Identifier
    chance: Annotated[float, Field(gt=0, le=1)]
    today: bool = False


class Example(_Strict):
    """Words of a user that must rank this cause within `rank` (a hit), or must not put it first (a near miss)."""

    say: str
    setting: Literal["home", "service", "training"] = "home"
    rank: int = 1


class Examples(_Strict):
    """Runnable examples of a cause."""

    hits: Annotated[tuple[Example, ...], Field(min_length=1)]
    misses: Annotated[tuple[Example, ...], Field(min_length=1)]


class PriorPerSetting(_Strict):
    """How common a cause is behind its complaint, per setting."""

    home: PriorWord
    service: PriorWord
    training: PriorWord


class Cause(_Strict):
    """Why a cup is wrong. Without `prior` it acts only as a root of other causes."""

    name: Text
    complaints: tuple[Complaint, ...] = ("shot",)
    prior: PriorPerSetting | None = None
    because: Text
    source: str
    variable: Variable | None = None
    direction: str | None = None
    excludes: tuple[Identifier, ...] = ()
    needs: tuple[Condition, ...] = ()
    shows: Annotated[tuple[Show, ...], Field(min_length=1)]
    roots: tuple[Root, ...] = ()
    cures: tuple[Cure, ...] = ()
    check: Identifier | None = None
    similar: Text | None = None
    cautions: tuple[Identifier, ...] = ()
    later: Text | None = None
    examples: Examples

    @model_validator(mode="after")
    def _direction_known(self) -> "Cause":
        if (self.variable is None) != (self.direction is None):
            raise ValueError("variable and direction go together")
        if self.variable is not None and self.direction not in VARIABLES[self.variable]:
            raise ValueError(f"direction of {self.variable} is one of: {', '.join(VARIABLES[self.variable])}")
        if sum(root.share for root in self.roots) > 0.95:
            raise ValueError("the shares of the roots leave less than 0.05 for no special reason")
        return self


class Step(_Strict):
    """Something to do. `size` names the sizing function; `expect` the measures whose next range it states.

    `needs` bars it when known to be untrue, `only_if` also while unknown: for what would be unsafe otherwise.

    The text may hold the fields the sizing function fills: {amount}, {from}, {to}, {expect}, {effect}, {purge}.
    """

    name: Text
    kind: Literal["adjust", "fix", "repeat", "accept", "hand_over"]
    variable: Variable | None = None
    direction: str | None = None
    size: Identifier | None = None
    cost: Costs
    hold: tuple[str, ...] = ()
    expect: tuple[MeasureName, ...] = ()
    confirms: dict[Identifier, str] = {}
    needs: tuple[Condition, ...] = ()
    only_if: tuple[Condition, ...] = ()
    text: Text
    done_words: dict[str, tuple[str, ...]] = {}
    cautions: tuple[Identifier, ...] = ()
    source: str = "common_practice"
    because: Text


class Notice(_Strict):
    """A stop rule (with `when`) or a caution that steps and checks refer to.

    Of several stop notices the one with the lowest `order` comes first: first what hurts somebody now.
    """

    order: int = 50
    severity: Literal["stop", "caution"]
    text: Text
    when: tuple[Condition, ...] = ()
    source: str = "common_practice"


class Reference(_Strict):
    """A published source: what it is, and how far the figures were seen in it."""

    title: str
    tag: Literal["read", "quoted", "computed", "memory"]
