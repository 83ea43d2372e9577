"""Every rule fires in some case, every condition is seen to hold and not to hold, and every weight is handed on."""

from collections.abc import Iterable, Iterator, Mapping
from functools import cache
from pathlib import Path

import yaml

from diagnose.case.fold import Observation
from diagnose.inference.compile import compile_rules
from diagnose.inference.forward import ForwardChainer, Known
from diagnose.model import Finding
from diagnose.rulebase.schema import Condition
from diagnose.rulebase.vocabulary import MEASURES
from tests.rules.materials import FOLDER, Expectation, materials, reader, rules
from tests.rules.readings import STOPS, possible_still, readings, speaking

DANGERS = Path(__file__).parents[1] / "language" / "danger_phrases.yaml"
# Weights that examples and cases in people's own words must reach at the least, without the answers to questions.
IN_WORDS = 0.97

Seen = tuple[Mapping[str, float], Known]


@cache
def chainer() -> ForwardChainer:
    """Return the compiled rules."""
    return ForwardChainer(rules())


@cache
def in_words() -> tuple[Seen, ...]:
    """Return examples, cases and one phrase for each danger, with their numbers and what the rules made of them."""
    caught: dict[str, list[str]] = yaml.safe_load(DANGERS.read_text(encoding="utf-8"))["caught"]
    told = [*(says[0] for says in caught.values()), *(say for says in dangers_said().values() for say in says)]
    said = [reader().read(Expectation(say, "service", "", (), 1)) for say in told]
    return tuple((read.values, read.known) for read in (*materials(), *said))


@cache
def dangers_said() -> dict[str, list[str]]:
    """Return the sentences about dangers of brewers and levers, by stop notice."""
    table: dict[str, dict[str, list[str]]] = yaml.safe_load((FOLDER / "readings.yaml").read_text(encoding="utf-8"))
    return table["said"]


@cache
def as_facts() -> tuple[Seen, ...]:
    """Return the table of readings, run."""
    return tuple((reading.values, reading.chained(chainer())) for reading in readings())


@cache
def answered() -> tuple[Seen, ...]:
    """Return each answer to each question, given alone, and with each condition under which a weight speaks."""
    base = rules()
    found: list[Seen] = [
        ({}, chainer().run([{}], {name: Observation(answer.levels, "answered", "")}))
        for name, finding in base.findings.items()
        for answer in (finding.ask.answers if finding.ask else ())
    ]
    for cause in base.causes.values():
        for show in cause.shows:
            if show.applies_when:
                context = {str(c.finding): Observation(c.levels[:1], "answered", "") for c in show.applies_when}
                level = Observation((next(iter(show.levels)),), "answered", "")
                found.append(({}, chainer().run([{}], {**context, show.finding: level})))
    return tuple(found)


def fired(cases: Iterable[Seen]) -> set[str]:
    """Return the names of all rules that fired."""
    return {firing.rule for _, known in cases for firing in known.trace}


def handed_on(cases: Iterable[Seen]) -> set[tuple[str, int]]:
    """Return all weights that were handed on."""
    return {entry for _, known in cases for entry in known.active}


def truth(condition: Condition, values: Mapping[str, float], findings: Mapping[str, Finding]) -> bool | None:
    """Return whether a condition is known to hold or known not to, None where neither is known."""
    if condition.measure is not None:
        value = values.get(condition.measure)
        return None if value is None else within(condition, value)
    found = findings.get(condition.finding or "")
    if found is None:
        return None
    wanted, possible = set(condition.levels), set(found.levels)
    return True if possible <= wanted else None if possible & wanted else False


def within(condition: Condition, value: float) -> bool:
    """Return whether a number is inside the bounds of a condition."""
    return not (
        (condition.below is not None and value >= condition.below)
        or (condition.at_most is not None and value > condition.at_most)
        or (condition.above is not None and value <= condition.above)
        or (condition.at_least is not None and value < condition.at_least)
    )


def always(condition: Condition) -> bool:
    """Return whether a condition holds for every number the measure can have: it asks only whether it was told."""
    if condition.measure is None:
        return False
    measure = MEASURES[condition.measure]
    return within(condition, measure.low) and within(condition, measure.high)


def conditions() -> Iterator[tuple[str, Condition]]:
    """Yield every condition of a forward rule or of a weight, with where it stands."""
    base = rules()
    for name, finding in base.findings.items():
        for index, rule in enumerate(finding.read):
            place = f"findings/{name}:{base.document('findings', name).line('read', index)}"
            yield from ((place, condition) for condition in rule.when if not always(condition))
    for name, notice in base.notices.items():
        yield from ((f"notices/{name}", condition) for condition in notice.when)
    for name, cause in base.causes.items():
        for index, show in enumerate(cause.shows):
            place = f"causes/{name}:{base.document('causes', name).line('shows', index)}"
            yield from ((place, condition) for condition in show.applies_when)


def test_readings_name_what_exists() -> None:
    """Each finding, level and stop notice of the table exists, and each is expected somewhere."""
    base = rules()
    for reading in readings():
        if reading.finding == STOPS:
            assert reading.wanted in {"", *base.notices}, reading
        else:
            assert reading.wanted in {"", *base.findings[reading.finding].levels}, reading
        assert all(level in base.findings[name].levels for name, level in reading.known.items()), reading


def test_numbers_and_findings_are_read_as_the_table_says() -> None:
    """Both ends of each stretch of numbers, each chain of findings and each stop notice come out, and no other."""
    wrong = [
        (reading, known.findings.get(reading.finding), known.stops)
        for reading, (_, known) in zip(readings(), as_facts(), strict=True)
        if not reading.met(known)
    ]
    assert not wrong


def test_what_is_known_rules_out_what_the_table_says() -> None:
    """No cause is weighed where it cannot be."""
    assert possible_still(rules(), set(rules().causes)) == []


def test_a_finding_says_nothing_where_its_condition_does_not_hold() -> None:
    """A weight under a condition is not handed on where the condition is known to be untrue."""
    assert speaking(rules(), chainer(), set(rules().causes)) == []


def test_every_forward_rule_fires_in_some_case() -> None:
    """No rule that reads a finding or brings up a stop notice is left out by the cases."""
    strata = compile_rules(rules())
    every = {rule.name for stratum in (strata.stop, strata.numbers, strata.derived) for rule in stratum.rules}
    assert len(every) > 100
    assert sorted(every - fired([*in_words(), *as_facts()])) == []


def test_every_danger_told_in_words_brings_up_its_stop_notice() -> None:
    """Each stop notice on a danger comes up on a sentence, not only on a fact put in."""
    base = rules()
    dangers = {name for name, notice in base.notices.items() if notice.when and _is_danger(notice.when)}
    assert len(dangers) >= 12
    assert sorted({f"notice/{name}" for name in dangers} - fired(in_words())) == []


def test_each_danger_told_of_a_brewer_or_lever_brings_up_its_own_notice() -> None:
    """A sentence about one danger leads to the notice on that danger."""
    for notice, says in dangers_said().items():
        for say in says:
            assert notice in reader().read(Expectation(say, "home", "", (), 1)).known.stops, (notice, say)


def _is_danger(when: tuple[Condition, ...]) -> bool:
    return all(rules().areas.get(condition.finding or "") == "danger" for condition in when)


def test_every_condition_is_seen_to_hold_and_not_to_hold() -> None:
    """For each condition there is a case in which it is known to be true and one in which it is known to be false."""
    cases = [*in_words(), *as_facts(), *answered()]
    missing = []
    for place, condition in conditions():
        found = {truth(condition, values, known.findings) for values, known in cases}
        missing += [(place, condition, f"never {wanted}") for wanted in (True, False) if wanted not in found]
    assert not missing


def test_every_weight_is_handed_on_in_some_case() -> None:
    """Each `shows` entry speaks in some case; nearly all do so in sentences, the rest in answers to questions."""
    base = rules()
    every = {(cause, index) for cause, spec in base.causes.items() for index in range(len(spec.shows))}
    missing = every - handed_on([*in_words(), *as_facts(), *answered()])
    assert sorted((cause, base.causes[cause].shows[index].finding) for cause, index in missing) == []
    assert len(handed_on(in_words()) & every) >= IN_WORDS * len(every)
