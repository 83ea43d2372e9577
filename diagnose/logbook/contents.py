"""The things a log holds, as frozen values, and `Entry`, the row that carries one of them.

Units are the canonical ones of the program (g, s, degC, bar, notch, days); dates and times are those of the clock
the log was opened with, always with their offset from UTC.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Generic, Literal, TypeAlias, TypeVar

from diagnose.model import Finding, Quantity, Range, Setting, Verdict

Kind = Literal["shot", "fact", "adjustment", "verdict", "care", "coffee", "retraction"]
Reason = Literal["undo", "correction"]
JsonValue: TypeAlias = "bool | int | float | str | Sequence[JsonValue] | Mapping[str, JsonValue] | None"


@dataclass(frozen=True, slots=True)
class PulledShot:
    """One shot as told. `number` counts in its own talk from 1; `step` is the step that was being tried.

    `measures` by name (dose, yield, time, dial, ...); `coffee` is the label the person gave, None if none.
    """

    number: int
    setting: Setting = "home"
    coffee: str | None = None
    measures: Mapping[str, Quantity] = field(default_factory=dict)
    findings: tuple[Finding, ...] = ()
    step: str | None = None
    text: str = ""


@dataclass(frozen=True, slots=True)
class Fact:
    """Something remembered about the person: recipe, kit, which way is finer on the dial."""

    key: str
    value: JsonValue


@dataclass(frozen=True, slots=True)
class Adjustment:
    """One adjustment made: how far, from which number on the dial to which, and what the next shot was to show."""

    step: str
    amount: float | None = None
    unit: str = ""
    dial_from: float | None = None
    dial_to: float | None = None
    expected: tuple[Range, ...] = ()


@dataclass(frozen=True, slots=True)
class Care:
    """Care given to the kit: which item, when it was done, and a note."""

    item: str
    done: datetime
    note: str = ""


@dataclass(frozen=True, slots=True)
class Coffee:
    """A bag of coffee: its label, the day of roast and the day it was opened, where known."""

    label: str
    roasted: date | None = None
    opened: date | None = None


@dataclass(frozen=True, slots=True)
class Retraction:
    """The withdrawal of another row, which stays where it is."""

    reason: Reason


Content: TypeAlias = PulledShot | Fact | Adjustment | Verdict | Care | Coffee | Retraction
T_co = TypeVar("T_co", bound=Content, covariant=True)


@dataclass(frozen=True, slots=True)
class Entry(Generic[T_co]):
    """One row of the log. `id` is good inside one file, `uid` everywhere.

    `at` is when it was said; a corrected shot keeps the time of the shot it replaces. `about` is the id of the
    adjustment a verdict judges.
    """

    id: int
    uid: str
    at: datetime
    what: T_co
    about: int | None = None
