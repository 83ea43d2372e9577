"""A rule names a finding, level, step, notice, cause or source that no rule file defines.

Most often a typing error; the nearest known name is suggested. A `cluster` is known when a second finding is in it, so
only a lone one that is nearly the name of another is reported. `hold` takes measures and variables, `direction` the two
directions of its variable, and the text of a step only the fields of `FIELDS`.
"""

from collections import Counter
from collections.abc import Collection, Iterator, Mapping
from difflib import get_close_matches
from string import Formatter

from diagnose.model import Problem
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.checks.mentions import COMMON_PRACTICE, Mention, mentions, problem
from diagnose.rulebase.vocabulary import SAID, VARIABLES

CODE = "unknown-name"
FIELDS = ("amount", "from", "to", "expect", "effect", "purge")

_WHERE = {
    "causes": "rules/causes/<area>/{}.yaml",
    "findings": "rules/findings/<area>/{}.yaml",
    "steps": "rules/steps/{}.yaml",
    "notices": "rules/notices/{}.yaml",
    "sources": "an entry {!r} in rules/sources.yaml",
}


def check(base: RuleBase) -> Iterator[Problem]:
    """Yield a problem for each name that leads nowhere."""
    known: Mapping[str, Collection[str]] = {
        "causes": base.causes,
        "findings": base.findings,
        "steps": base.steps,
        "notices": base.notices,
        "sources": [*base.sources, COMMON_PRACTICE],
        "held": list(dict.fromkeys([*SAID, *VARIABLES])),
    }
    clusters: list[Mention] = []
    for mention in mentions(base):
        if mention.kind == "clusters":
            clusters.append(mention)
        elif mention.kind == "levels":
            yield from _level(base, mention)
        elif mention.name not in known[mention.kind]:
            yield _unknown(base, mention, known[mention.kind])
    yield from _lone_clusters(base, clusters)
    yield from _directions(base)
    yield from _fields(base)


def _unknown(base: RuleBase, mention: Mention, known: Collection[str]) -> Problem:
    near = get_close_matches(mention.name, known, 1)
    if mention.kind == "held":
        what = f"{mention.name!r} is neither a measure nor a variable."
        todo = f"Did you mean {near[0]!r}?" if near else f"Known: {', '.join(known)}."
        return problem(base, mention, CODE, what, todo)
    where = _WHERE[mention.kind].format(mention.name)
    todo = f"Did you mean {near[0]!r}? Otherwise write {where}." if near else f"Correct it, or write {where}."
    return problem(base, mention, CODE, f"there is no {mention.kind[:-1]} {mention.name!r}.", todo)


def _level(base: RuleBase, mention: Mention) -> Iterator[Problem]:
    finding = base.findings.get(mention.finding)
    if finding is None or mention.name in finding.levels:
        return
    near = get_close_matches(mention.name, finding.levels, 1)
    todo = f"Did you mean {near[0]!r}?" if near else f"Its levels are: {', '.join(finding.levels)}."
    yield problem(base, mention, CODE, f"{mention.finding} has no level {mention.name!r}.", todo)


def _lone_clusters(base: RuleBase, clusters: list[Mention]) -> Iterator[Problem]:
    """Yield the clusters of one finding that are nearly the name of another; of two such, the later one."""
    size = Counter(mention.name for mention in clusters)
    for place, mention in enumerate(clusters):
        known = {name for name, count in size.items() if count > 1} | {earlier.name for earlier in clusters[:place]}
        near = get_close_matches(mention.name, sorted(known), 1, 0.8) if size[mention.name] == 1 else []
        if near:
            todo = f"Did you mean {near[0]!r}? Otherwise choose a name less like it."
            yield problem(base, mention, CODE, f"no other finding is in the cluster {mention.name!r}.", todo)


def _directions(base: RuleBase) -> Iterator[Problem]:
    for name, step in base.steps.items():
        possible = VARIABLES[step.variable] if step.variable else ()
        if step.direction is not None and step.direction not in possible:
            what = f"{step.direction!r} is not a direction of {step.variable or 'a step without variable'}."
            todo = f"Write one of: {', '.join(possible)}." if possible else "Add `variable`, or remove `direction`."
            yield base.document("steps", name).problem(("direction",), CODE, what, todo)


def _fields(base: RuleBase) -> Iterator[Problem]:
    """Yield the steps whose text has a field the sizing cannot fill, or braces that do not close."""
    for name, step in base.steps.items():
        for language, sentence in step.text.items():
            what = _field_fault(sentence)
            if what:
                todo = f"The fields are: {', '.join('{' + field + '}' for field in FIELDS)}."
                yield base.document("steps", name).problem(("text", language), CODE, what, todo)


def _field_fault(sentence: str) -> str:
    """Return what is wrong with the fields of a sentence, or nothing."""
    try:
        names = [name for _, name, _, _ in Formatter().parse(sentence) if name is not None]
    except ValueError:
        return "a brace in this text is opened or closed alone."
    unknown = [name for name in names if name not in FIELDS]
    return f"{{{unknown[0]}}} is not a field that can be filled." if unknown else ""
