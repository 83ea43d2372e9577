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
    """What holds unless the text says otherwise: `brewer` is a level of the finding, `topic` "milk", "shot" or "".

    `time_s` is the time told last, 0 where none was.
    """

    brewer: str = ""
    topic: str = ""
    time_s: float = 0.0


NO_CONTEXT = Context()


def context_of(earlier: Sequence[Statement], findings: Mapping[str, FindingWords]) -> Context:
    """Return the context that earlier statements, oldest first, make."""
    brewer = next((one.levels[0] for one in reversed(earlier) if one.name == BREWER and len(one.levels) == 1), "")
    topics = (_topic(one, findings) for one in reversed(earlier))
    times = (one.quantity.value for one in reversed(earlier) if one.name == "time" and one.quantity is not None)
    return Context(brewer, next((topic for topic in topics if topic), ""), next(times, 0.0))


def is_next_time(context: Context, value: float) -> bool:
    """Return whether a number that stands all alone goes on with the times told: "25 s", then "26"."""
    return context.topic == SHOT and context.time_s / 2.0 <= value <= 2.0 * context.time_s


def _topic(said: Statement, findings: Mapping[str, FindingWords]) -> str:
    """Return what one statement is about, "" where it may be about either."""
    if said.kind == "measurement":
        return MILK if said.name.startswith(MILK) or said.name == _BOILER else SHOT if said.shot else ""
    words = findings.get(said.name)
    return words.area if words is not None and words.area in {MILK, SHOT} else ""
