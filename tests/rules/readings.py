"""The table of readings as cases: facts put in, and the level (or the stop notice) that must come out, or none."""

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cache
from itertools import product
from typing import Any

import yaml

from diagnose.case.fold import Observation
from diagnose.inference.forward import ForwardChainer, Known
from diagnose.inference.hypotheses import contradicted
from diagnose.model import Finding
from diagnose.rulebase.base import RuleBase
from tests.rules.materials import FOLDER

STOPS = "stops"  # instead of a finding: the case is about stop notices


@dataclass(frozen=True)
class Reading:
    """Numbers and levels put in; `wanted` is what `finding` must be, "" where it must stay unknown."""

    finding: str
    wanted: str
    values: Mapping[str, float] = field(default_factory=dict)
    known: Mapping[str, str] = field(default_factory=dict)

    def chained(self, chainer: ForwardChainer) -> Known:
        """Return what the rules conclude."""
        seen = {name: Observation((level,), "said", "") for name, level in self.known.items()}
        return chainer.run([self.values], seen)

    def met(self, known: Known) -> bool:
        """Return whether the conclusion is the one wanted, and nothing beside it."""
        if self.finding == STOPS:
            return known.stops == ((self.wanted,) if self.wanted else ())
        found = known.findings.get(self.finding)
        return (found.levels if found else ()) == ((self.wanted,) if self.wanted else ())

    def touches(self, names: set[str]) -> bool:
        """Return whether the case is about one of these findings or stop notices, or puts it in."""
        return self.finding in names or (self.finding == STOPS and ({self.wanted, STOPS} & names != set()))


def _each(known: Mapping[str, str | list[str]]) -> Iterator[dict[str, str]]:
    """Yield one mapping for each choice of a level from the lists."""
    choices = [levels if isinstance(levels, list) else [levels] for levels in known.values()]
    for chosen in product(*choices):
        yield dict(zip(known, chosen, strict=True))


@cache
def readings() -> tuple[Reading, ...]:
    """Return every case of the table."""
    table: dict[str, Any] = yaml.safe_load((FOLDER / "readings.yaml").read_text(encoding="utf-8"))
    found: list[Reading] = []
    for finding, entry in table["numbers"].items():
        for known in _each(entry.get("with", {})):
            for level, ends in entry["is"].items():
                found += [Reading(finding, level, {entry["measure"]: end}, known) for end in ends]
    found += [Reading(row["finding"], row["is"], row["values"], row.get("known", {})) for row in table["together"]]
    for finding, rows in table["derived"].items():
        found += [Reading(finding, row["is"], {}, known) for row in rows for known in _each(row["known"])]
    for notice, rows in table["stops"].items():
        found += [Reading(STOPS, notice, {}, known) for row in rows for known in _each(row["known"])]
    found += [Reading(STOPS, "", {}, known) for known in table["quiet"]]
    return tuple(found)


@cache
def impossible() -> tuple[tuple[dict[str, str], tuple[str, ...]], ...]:
    """Return what is known, and the causes that cannot be then."""
    table: dict[str, Any] = yaml.safe_load((FOLDER / "readings.yaml").read_text(encoding="utf-8"))
    return tuple((known, tuple(row["causes"])) for row in table["impossible"] for known in _each(row["known"]))


def possible_still(base: RuleBase, causes: Collection[str]) -> list[tuple[dict[str, str], str]]:
    """Return what is known with each of `causes` that the rules do not rule out then, though the table does."""
    return [
        (known, cause)
        for known, struck in impossible()
        for cause in struck
        if cause in causes
        and not contradicted(base.causes[cause].needs, {n: Finding(n, (level,), "said") for n, level in known.items()})
    ]


@cache
def silent() -> tuple[tuple[str, Reading], ...]:
    """Return causes of which a finding must say nothing, with the facts under which it must not."""
    table: dict[str, Any] = yaml.safe_load((FOLDER / "readings.yaml").read_text(encoding="utf-8"))
    return tuple(
        (row["cause"], Reading(row["finding"], "", {}, known))
        for row in table["silent"]
        for known in _each(row["known"])
    )


def speaking(base: RuleBase, chainer: ForwardChainer, causes: Collection[str]) -> list[tuple[str, Reading]]:
    """Return the cases of `silent` about `causes` in which the finding speaks all the same."""
    return [
        (cause, reading)
        for cause, reading in silent()
        if cause in causes
        and any(
            name == cause and base.causes[cause].shows[index].finding == reading.finding
            for name, index in reading.chained(chainer).active
        )
    ]
