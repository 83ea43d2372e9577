"""A case is a fold over the statements of a talk: the latest of equal standing wins, a better source beats a worse."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field

from diagnose.model import Quantity, Setting, Shot, Source, Statement
from diagnose.rulebase.base import RuleBase

# Measured beats answered beats said beats derived.
STANDING: Mapping[Source, int] = {"measured": 3, "answered": 2, "said": 1, "derived": 0}

# What a person keeps from shot to shot unless they say otherwise.
HELD = frozenset({"dose", "yield"})
# The built-in finding that says what the last step changed, and its levels under which all else stays as it was.
STEP_RESULT = "step_result"
UNCHANGED = frozenset({"no_change", "worse"})


@dataclass(frozen=True, slots=True)
class Observation:
    """What is known of one finding from words: the levels that remain possible, and from whom."""

    levels: tuple[str, ...]
    source: Source
    text: str


@dataclass(frozen=True, slots=True)
class Case:
    """Everything known at this point of a talk.

    `shots` in time order, the last is the one talked about; `recipe` holds dose, yield, time and ratio as far as the
    person gave them; `dont_know` are findings asked and not known; `tried` are (step, outcome) the person reports,
    `failed` steps taken in this talk that did not end the trouble; `current` is the number of the shot talked about,
    which may have no numbers; `settled` are complaints this talk is done with, `topic` is the one
    it was about last ("" at its beginning), `declined` are steps the person cannot or will not take.
    """

    setting: Setting
    shots: tuple[Shot, ...] = ()
    recipe: Mapping[str, Quantity] = field(default_factory=dict)
    stated: Mapping[str, Quantity] = field(default_factory=dict)
    observations: Mapping[str, Observation] = field(default_factory=dict)
    dont_know: frozenset[str] = frozenset()
    tried: tuple[tuple[str, str], ...] = ()
    failed: tuple[str, ...] = ()
    beliefs: tuple[str, ...] = ()
    current: int = 0
    settled: tuple[str, ...] = ()
    topic: str = ""
    declined: tuple[str, ...] = ()

    @property
    def shot(self) -> Shot | None:
        """Return the current shot, or None when none was told."""
        return self.shots[-1] if self.shots else None

    def measured(self, name: str) -> Quantity | None:
        """Return a number of the current shot, or one that belongs to no shot (water, beans)."""
        current = self.shot
        return (current.measures.get(name) if current else None) or self.stated.get(name)


def fold(base: RuleBase, setting: Setting, statements: Iterable[Statement], failed: Iterable[str] = ()) -> Case:
    """Return the case the statements add up to, in the order they were made.

    Shot numbers are absolute. Observations of `per_shot` findings count for the current shot only.
    """
    statements = list(statements)
    current = max((s.shot for s in statements if s.shot), default=0)
    since = _since(statements, current)
    shots: dict[int, dict[str, Quantity]] = {}
    recipe: dict[str, Quantity] = {}
    stated: dict[str, Quantity] = {}
    observations: dict[str, Observation] = {}
    dont_know: set[str] = set()
    tried: list[tuple[str, str]] = []
    beliefs: list[str] = []
    for statement in statements:
        if statement.kind == "measurement" and statement.quantity is not None:
            if statement.name.startswith("recipe_"):
                recipe[statement.name.removeprefix("recipe_")] = statement.quantity
            elif statement.shot:
                shots.setdefault(statement.shot, {})[statement.name] = statement.quantity
            else:
                stated[statement.name] = statement.quantity
        elif statement.kind in {"observation", "answer"}:
            _observe(base, statement, since, observations, dont_know)
        elif statement.kind == "tried":
            tried.append((statement.name, statement.outcome))
        elif statement.kind == "belief":
            beliefs.append(statement.name)
    return Case(
        setting,
        tuple(_with_held(shots, recipe)),
        recipe,
        stated,
        observations,
        frozenset(dont_know),
        tuple(tried),
        tuple(failed),
        tuple(beliefs),
        current,
    )


def _with_held(shots: Mapping[int, Mapping[str, Quantity]], recipe: Mapping[str, Quantity]) -> Iterator[Shot]:
    """Yield the shots in order.

    A dose not said anew is that of the shot before; so is a yield, unless the recipe has one.
    """
    held: dict[str, Quantity] = {}
    for number, measures in sorted(shots.items()):
        yield Shot(number, held | dict(measures))
        held = {name: quantity for name, quantity in (held | dict(measures)).items() if name in HELD}
        if "yield" in recipe:
            held["yield"] = recipe["yield"]


def _since(statements: Iterable[Statement], current: int) -> int:
    """Return the number of the first shot whose observations speak for the current one.

    That is the current one itself, unless the person says that nothing changed, or that it got worse.
    """
    unchanged = {s.shot for s in statements if s.name == STEP_RESULT and set(s.levels) <= UNCHANGED and s.levels}
    while current in unchanged and current > 1:
        current -= 1
    return current


def _observe(
    base: RuleBase, said: Statement, since: int, observations: dict[str, Observation], dont_know: set[str]
) -> None:
    """Enter one observation or answer; one of a shot before `since` does not speak for the current one."""
    finding = base.findings.get(said.name)
    if finding is None or (finding.per_shot and said.shot is not None and said.shot < since):
        return
    if not said.levels:
        dont_know.add(said.name)
        return
    before = observations.get(said.name)
    if before is None or STANDING[said.source] >= STANDING[before.source] or finding.per_shot:
        observations[said.name] = Observation(said.levels, said.source, said.text)
        dont_know.discard(said.name)
