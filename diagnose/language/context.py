"""What earlier lines of a talk tell about this one: the kind of brewer, and whether the talk is about milk or shots."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from diagnose.language.lexicon import FindingWords
from diagnose.model import Statement

BREWER, ESPRESSO = "brewer", "espresso_machine"  # the finding that says what the coffee is made with
MILK = "milk"  # the area of milk findings, and the cue words for milk
SHOT = "shot"
_BOILER = "boiler_pressure"  # belongs to steam, and so to milk


@dataclass(frozen=True, slots=True)
class Context:
    """What holds unless the text says otherwise: `brewer` is a level of the finding, `topic` "milk", "shot" or ""."""

    brewer: str = ""
    topic: str = ""


NO_CONTEXT = Context()


def context_of(earlier: Sequence[Statement], findings: Mapping[str, FindingWords]) -> Context:
    """Return the context that earlier statements, oldest first, make."""
    brewer = next((one.levels[0] for one in reversed(earlier) if one.name == BREWER and len(one.levels) == 1), "")
    topics = (_topic(one, findings) for one in reversed(earlier))
    return Context(brewer, next((topic for topic in topics if topic), ""))


def _topic(said: Statement, findings: Mapping[str, FindingWords]) -> str:
    """Return what one statement is about, "" where it may be about either."""
    if said.kind == "measurement":
        return MILK if said.name.startswith(MILK) or said.name == _BOILER else SHOT if said.shot else ""
    words = findings.get(said.name)
    return words.area if words is not None and words.area in {MILK, SHOT} else ""
