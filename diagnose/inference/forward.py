"""Forward chaining in four strata: stop notices, numbers to findings, findings to findings, findings to evidence.

Each stratum runs to its fixpoint in a fresh engine session; what it concludes is told to the next as facts. The
result is a pure function of the rules, the numbers and the observations.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from diagnose.case.fold import Observation
from diagnose.inference.compile import EXCLUDED, MEASURE, POSSIBLE, Origin, Strata, Stratum, compile_rules
from diagnose.inference.engine import Fact, RuleSet
from diagnose.inference.likelihood import Active
from diagnose.model import Finding, Firing, Source
from diagnose.rulebase.base import RuleBase

# What a firing concludes: facts for the same stratum, and the result in words for the trace.
Conclude = Callable[[Origin], tuple[Iterable[Fact], str]]


@dataclass(frozen=True, slots=True)
class Known:
    """What forward chaining concluded.

    `findings` by id; `stops` are ids of stop notices; `active` holds the (cause, index) of every `shows` entry that
    speaks; `disagreements` are findings of which a measurement says something else than the person did.
    """

    findings: Mapping[str, Finding]
    stops: tuple[str, ...]
    active: Active
    trace: tuple[Firing, ...]
    disagreements: tuple[str, ...]


class ForwardChainer:
    """The compiled rules of one rule base, ready to run any number of times."""

    def __init__(self, base: RuleBase) -> None:
        """Compile the rules and hand them to the engine. Raises EngineUnavailable or EngineFault."""
        self._base = base
        self._strata = compile_rules(base)
        self._sets = {name: RuleSet(getattr(self._strata, name).rules) for name in Strata.__slots__}

    def run(self, values: Sequence[Mapping[str, float]], observations: Mapping[str, Observation]) -> Known:
        """Return what follows from the numbers and observations.

        `values` holds the measures once, or once for each end of a range the person gave; the levels found for any
        of them remain possible.
        """
        run = _Run(self._base, observations)
        said = run.exclusions()
        self._fire("stop", said, run, run.stop)
        for variant in values:
            numbers: list[Fact] = [{"kind": MEASURE, "name": name, "value": value} for name, value in variant.items()]
            self._fire("numbers", [*numbers, *said], run, run.read)
        run.settle("measured")
        self._fire("derived", run.exclusions(), run, run.derive)
        run.settle("derived")
        self._fire("evidence", [*run.possibilities(), *run.exclusions()], run, run.hand_on)
        stops = sorted(dict.fromkeys(run.stops), key=lambda name: (self._base.notices[name].order, name))
        return Known(run.findings, tuple(stops), frozenset(run.active), tuple(run.trace), tuple(run.disagree))

    def _fire(self, name: str, facts: Iterable[Fact], run: "_Run", conclude: Conclude) -> None:
        """Run one stratum to its fixpoint; record every firing."""
        stratum: Stratum = getattr(self._strata, name)

        def on_fire(rule: str, matched: tuple[Fact, ...]) -> Iterable[Fact]:
            origin = stratum.origins[rule]
            derived, result = conclude(origin)
            told = tuple(dict.fromkeys(run.told(fact) for fact in matched))
            run.trace.append(Firing(rule, origin.file, origin.line, told, result))
            return derived

        if stratum.rules:
            self._sets[name].run(facts, on_fire)


@dataclass(slots=True)
class _Run:
    """The state of one pass through the strata."""

    base: RuleBase
    observations: Mapping[str, Observation]
    findings: dict[str, Finding] = field(default_factory=dict)
    stops: list[str] = field(default_factory=list)
    active: set[tuple[str, int]] = field(default_factory=set)
    trace: list[Firing] = field(default_factory=list)
    disagree: list[str] = field(default_factory=list)
    levels_read: dict[str, set[str]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Start from what the person said or answered."""
        for name, seen in self.observations.items():
            self.findings[name] = Finding(name, self._ordered(name, seen.levels), seen.source)

    def _ordered(self, finding: str, levels: Iterable[str]) -> tuple[str, ...]:
        wanted = set(levels)
        return tuple(level for level in self.base.findings[finding].levels if level in wanted)

    def exclusions(self) -> list[Fact]:
        """Return a fact for every level that what is known rules out."""
        return [fact for name, finding in self.findings.items() for fact in self._excluded(name, finding.levels)]

    def _excluded(self, name: str, levels: Iterable[str]) -> list[Fact]:
        left = set(levels)
        known = (level for level in self.base.findings[name].levels if level not in left)
        return [{"kind": EXCLUDED, "finding": name, "level": level} for level in known]

    def possibilities(self) -> list[Fact]:
        """Return a fact for every level of a known finding that remains possible."""
        known = self.findings.items()
        return [{"kind": POSSIBLE, "finding": n, "level": level} for n, found in known for level in found.levels]

    def stop(self, origin: Origin) -> tuple[Iterable[Fact], str]:
        """Conclude that a stop notice is due."""
        self.stops.append(origin.target)
        return (), f"stop: {origin.target}"

    def read(self, origin: Origin) -> tuple[Iterable[Fact], str]:
        """Conclude a finding's level from numbers."""
        self.levels_read.setdefault(origin.target, set()).add(origin.level)
        return (), f"{origin.target} is {origin.level}"

    def derive(self, origin: Origin) -> tuple[Iterable[Fact], str]:
        """Conclude a finding's level from other findings, unless it is known at first hand."""
        if origin.target in self.findings:
            return (), f"{origin.target} is known at first hand"
        self.levels_read.setdefault(origin.target, set()).add(origin.level)
        return self._excluded(origin.target, [origin.level]), f"{origin.target} is {origin.level}"

    def settle(self, source: Source) -> None:
        """Enter the levels read in a stratum. A measurement replaces what was said, and a contradiction is noted."""
        for name, levels in self.levels_read.items():
            before = self.findings.get(name)
            if before is not None and not levels & set(before.levels):
                self.disagree.append(name)
            self.findings[name] = Finding(name, self._ordered(name, levels), source)
        self.levels_read.clear()

    def hand_on(self, origin: Origin) -> tuple[Iterable[Fact], str]:
        """Hand on what each cause says about a level that remains possible."""
        self.active.update(origin.shows)
        causes = ", ".join(dict.fromkeys(cause for cause, _ in origin.shows))
        return (), f"evidence from {origin.target} {origin.level} for: {causes}"

    def told(self, fact: Fact) -> str:
        """Return a matched fact in words."""
        if fact["kind"] == MEASURE:
            return f"{fact['name']} = {float(fact['value']):.4g}"
        verb = "is not" if fact["kind"] == EXCLUDED else "may be"
        known = self.findings.get(str(fact["finding"]))
        if known is not None and len(known.levels) == 1:
            return f"{known.id} is {known.levels[0]} ({known.source})"
        return f"{fact['finding']} {verb} {fact['level']}"
