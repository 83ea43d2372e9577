"""One rule on a card: what its file says, in words, and who refers to it."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from itertools import groupby
from textwrap import wrap

from diagnose.model import SETTINGS
from diagnose.rulebase.base import Kind, RuleBase
from diagnose.rulebase.cards.listing import FORMAT, WIDTH, area, rules_of, title
from diagnose.rulebase.checks.mentions import Mention, mentions
from diagnose.rulebase.schema import Ask, Cause, Condition, Costs, Cure, Finding, Notice, Show, Step
from diagnose.rulebase.vocabulary import GRADES, MEASURES

LABEL = 14

_BOUNDS = {"above": "above", "at_least": "at least", "below": "below", "at_most": "at most"}


def card_dict(base: RuleBase, kind: Kind, name: str) -> dict[str, object]:
    """Return everything about one rule: its file as typed values, its evidence in decibans, who refers to it."""
    document = base.document(kind, name)
    return {
        "format": FORMAT,
        "kind": kind[:-1],
        "id": name,
        "area": area(base, kind, name),
        "name": title(base, kind, name),
        "file": document.file,
        "rule": rules_of(base, kind)[name].model_dump(mode="json", by_alias=True, exclude_defaults=True),
        "evidence": _evidence(base, kind, name),
        "referred_to_by": [
            {
                "kind": mention.by_kind[:-1],
                "id": mention.by,
                "role": mention.role,
                "file": base.document(mention.by_kind, mention.by).file,
                "line": base.document(mention.by_kind, mention.by).line(*mention.path),
            }
            for mention in _referring(base, kind, name)
        ],
    }


def card_text(base: RuleBase, kind: Kind, name: str) -> str:
    """Return the card of one rule."""
    rule = rules_of(base, kind)[name]
    page = _Page([f"{name}: {kind[:-1]}, {base.document(kind, name).file}"])
    if isinstance(rule, Cause):
        _cause_card(base, rule, page)
    elif isinstance(rule, Finding):
        _finding_card(base, name, rule, page)
    elif isinstance(rule, Step):
        _step_card(base, rule, page)
    else:
        _notice_card(base, base.notices[name], page)
    page.add("Referred to", *_references(base, kind, name))
    return page.text()


@dataclass(slots=True)
class _Page:
    """Lines with a label in front; what has no content is left out."""

    lines: list[str] = field(default_factory=list)

    def add(self, label: str, *paragraphs: str) -> None:
        """Add paragraphs under one label; a paragraph may start with blanks to stand further in."""
        for paragraph in filter(None, paragraphs):
            inner = len(paragraph) - len(paragraph.lstrip())
            rows = wrap(paragraph.strip(), WIDTH - LABEL - inner, break_on_hyphens=False)
            for row in rows:
                self.lines.append(f"{label:<{LABEL}}{' ' * inner}{row}".rstrip())
                label = ""

    def text(self) -> str:
        """Return the page."""
        return "\n".join(self.lines)


def conditions_text(conditions: Iterable[Condition]) -> str:
    """Return conditions in words: ``flow is fast or gushing, and time_z is below -2``."""
    return ", and ".join(_condition(condition) for condition in conditions)


def _condition(condition: Condition) -> str:
    if condition.finding is not None:
        return f"{condition.finding} is {' or '.join(condition.levels)}"
    bounds = [f"{word} {value:g}" for key, word in _BOUNDS.items() if (value := getattr(condition, key)) is not None]
    unit = MEASURES[str(condition.measure)].unit
    return f"{condition.measure} is {' and '.join(bounds)}{'' if unit in {'ratio', 'count'} else f' {unit}'}"


def _grade(level: str, grade: str) -> str:
    return f"{level} {grade} ({GRADES[grade]:+g} dB)"


def _shown(base: RuleBase, show: Show) -> Iterator[str]:
    yield f"{show.finding}: {', '.join(_grade(level, grade) for level, grade in show.levels.items())}"
    if show.applies_when:
        yield f"  only when {conditions_text(show.applies_when)}"
    if show.because:
        yield f"  {base.text(show.because)}"
    if show.source:
        yield f"  source: {show.source}"


def _cause_card(base: RuleBase, cause: Cause, page: _Page) -> None:
    page.add("Name", base.text(cause.name))
    page.add("Because", base.text(cause.because))
    page.add("Source", cause.source)
    page.add("Complaint", ", ".join(cause.complaints))
    prior = cause.prior
    page.add("How common", ", ".join(f"{s} {getattr(prior, s)}" for s in SETTINGS) if prior else "only as a root")
    page.add("Moves", f"{cause.variable}: {cause.direction}" if cause.variable else "")
    page.add("Only if", conditions_text(cause.needs))
    page.add("Shows", *(line for show in cause.shows for line in _shown(base, show)))
    page.add("Roots", *(f"{root.cause}, {root.share:.0%} of the cases" for root in cause.roots))
    page.add("Never with", ", ".join(cause.excludes))
    page.add("Cures", *(_cure(cure) for cure in cause.cures))
    page.add("Check", cause.check or "")
    page.add("Like it", base.text(cause.similar) if cause.similar else "")
    page.add("Later", base.text(cause.later) if cause.later else "")
    page.add("Cautions", ", ".join(cause.cautions))
    hits = [f"hit ({hit.setting}, among the first {hit.rank}): {hit.say}" for hit in cause.examples.hits]
    misses = [f"near miss ({miss.setting}): {miss.say}" for miss in cause.examples.misses]
    page.add("Examples", *hits, *misses)


def _cure(cure: Cure) -> str:
    return f"{cure.step}, chance {cure.chance:.0%}{', for today only' if cure.today else ''}"


def _finding_card(base: RuleBase, name: str, finding: Finding, page: _Page) -> None:
    page.add("Name", base.text(finding.name))
    page.add("Complaint", ", ".join(finding.complaints))
    page.add("Cluster", finding.cluster or "")
    for level, spec in finding.levels.items():
        normal = ", normal" if level == finding.normal else ""
        phrases = [phrase for by_language in spec.words.values() for phrase in by_language]
        label = "Levels" if level == next(iter(finding.levels)) else ""
        page.add(label, f"{level}: {base.text(spec.name)} (base {spec.base:g}{normal})")
        page.add("", f"  said as: {', '.join(phrases)}" if phrases else "")
    page.add("Read", *(f"{rule.level} when {conditions_text(rule.when)}" for rule in finding.read))
    if finding.ask:
        page.add("Asked", *_asked(base, finding.ask))
    grouped = groupby(_evidence(base, "findings", name), key=lambda entry: entry["cause"])
    lines = (f"{cause}: {', '.join(_grade(str(e['level']), str(e['grade'])) for e in rows)}" for cause, rows in grouped)
    page.add("Speaks of", *lines)
    page.add("Source", finding.source)


def _asked(base: RuleBase, ask: Ask) -> Iterator[str]:
    yield f"{ask.kind}: {base.text(ask.text)}"
    for number, answer in enumerate(ask.answers, 1):
        yield f"  {number} {base.text(answer.text)} ({', '.join(answer.levels)})"
    yield _costs(ask.cost)
    yield f"only if {conditions_text(ask.needs)}" if ask.needs else ""
    yield f"only if it is known: {conditions_text(ask.only_if)}" if ask.only_if else ""
    yield f"cautions: {', '.join(ask.cautions)}" if ask.cautions else ""


def _costs(costs: Costs) -> str:
    """Return what it takes in each setting in which it can be done."""
    taken = {setting: getattr(costs, setting) for setting in SETTINGS}
    return "takes " + ", ".join(
        f"{cost.seconds:g} s{f' and {cost.grams:g} g' if cost.grams else ''} ({setting})"
        for setting, cost in taken.items()
        if cost is not None
    )


def _step_card(base: RuleBase, step: Step, page: _Page) -> None:
    page.add("Name", base.text(step.name))
    page.add("Kind", f"{step.kind}, {_costs(step.cost)}")
    page.add("Text", base.text(step.text))
    page.add("Because", base.text(step.because))
    page.add("Moves", f"{step.variable}: {step.direction}" if step.variable else "")
    page.add("Size", step.size or "")
    page.add("Hold", ", ".join(step.hold))
    page.add("Expect", ", ".join(step.expect))
    page.add("Confirms", ", ".join(f"{finding} is {level}" for finding, level in step.confirms.items()))
    page.add("Only if", conditions_text(step.needs))
    page.add("Only if known", conditions_text(step.only_if))
    page.add("Said as", ", ".join(phrase for phrases in step.done_words.values() for phrase in phrases))
    page.add("Cautions", ", ".join(step.cautions))
    page.add("Source", step.source)


def _notice_card(base: RuleBase, notice: Notice, page: _Page) -> None:
    page.add("Text", base.text(notice.text))
    page.add("Kind", "stop: said before anything else" if notice.severity == "stop" else notice.severity)
    page.add("Given when", conditions_text(notice.when))
    page.add("Source", notice.source)


def _evidence(base: RuleBase, kind: Kind, name: str) -> list[dict[str, object]]:
    """Return every grade of a cause, or every grade on a finding, with its decibans and place."""
    return [
        {
            "cause": cause,
            "finding": show.finding,
            "level": level,
            "grade": grade,
            "decibans": GRADES[grade],
            "file": base.document("causes", cause).file,
            "line": base.document("causes", cause).line("shows", index, "levels", level),
        }
        for cause, spec in base.causes.items()
        for index, show in enumerate(spec.shows)
        for level, grade in show.levels.items()
        if (kind, name) in {("causes", cause), ("findings", show.finding)}
    ]


def _referring(base: RuleBase, kind: Kind, name: str) -> list[Mention]:
    """Return the mentions of a rule by other rules."""
    return [
        mention
        for mention in mentions(base)
        if (mention.kind, mention.name) == (kind, name) and (mention.by_kind, mention.by) != (kind, name)
    ]


def _references(base: RuleBase, kind: Kind, name: str) -> Iterator[str]:
    for mention in _referring(base, kind, name):
        document = base.document(mention.by_kind, mention.by)
        place = f"{document.file}:{document.line(*mention.path)}"
        yield f"in {mention.role} of {mention.by_kind[:-1]} {mention.by} ({place})"
