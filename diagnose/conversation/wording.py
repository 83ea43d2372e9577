"""Puts an assessment into words: short, in the person's units, one thing to do, no decimals it cannot support."""

from collections.abc import Iterable, Mapping, Sequence
from math import floor

from diagnose.conversation.assess import Assessment
from diagnose.conversation.outcome import Outcome
from diagnose.conversation.reply import Part
from diagnose.model import NextStep, Notice, Quantity, Range, RankedCause, Refused, Statement, StepCost
from diagnose.rulebase.base import RuleBase
from diagnose.science.variation import SPREAD_FROM
from diagnose.sizing.sized import number

SHOWN_CAUSES = 3
LEADING_FROM = 0.25  # below, it is too early to call anything likely
SHIFTED_FROM = 3.5  # sigma; of ten steady shots one series in four hundred looks like that (simulated)
SHOWN_FROM = 0.05  # a cause less likely than this is not worth a reader's time


def percent(probability: float) -> str:
    """Return a probability to the nearest 5 %, which is as fine as the grades support."""
    if probability >= 0.975:
        return "over 95 %"
    if probability < 0.025:
        return "under 5 %"
    return f"{round(probability * 20) * 5} %"


def write(quantity: Quantity) -> str:
    """Return a quantity as the person wrote it, else in canonical units."""
    if quantity.shown:
        return quantity.shown
    if quantity.low < quantity.high:
        return f"{number(quantity.low, 0.1)} to {number(quantity.high, 0.1)} {quantity.unit}"
    return f"{number(quantity.value, 0.1)} {quantity.unit}"


class Wording:
    """The texts of one rule base in one language."""

    def __init__(self, base: RuleBase) -> None:
        """Keep the rule base; its wording file holds the templates."""
        self.base = base

    def say(self, key: str, **fields: str) -> str:
        """Return a template with its fields filled in."""
        return str(self.base.wording[key]).format(**fields)

    def entry(self, table: str, key: str) -> str:
        """Return one word of a table of the wording file."""
        entries = self.base.wording[table]
        assert isinstance(entries, Mapping)  # noqa: S101 - the rule check holds the wording file to its form
        return str(entries.get(key, key))

    def words(self, key: str) -> tuple[str, ...]:
        """Return a list of words of the wording file."""
        entries = self.base.wording[key]
        assert isinstance(entries, Sequence)  # noqa: S101 - as above
        return tuple(map(str, entries))

    # -- what was heard

    def heard(self, statements: Iterable[Statement]) -> str | None:
        """Return the line that says back what was understood."""
        items: list[str] = []
        recipe: list[str] = []
        for said in statements:
            words = self._statement(said)
            if words and said.name.startswith("recipe_"):
                recipe.append(words)
            elif words:
                items.append(words)
        if recipe:
            items.append(self.say("recipe_part", items=", ".join(recipe)))
        return self.say("heard", items=", ".join(dict.fromkeys(items))) if items else None

    def _statement(self, said: Statement) -> str:
        if said.quantity is not None:
            template = self.entry("measure", said.name.removeprefix("recipe_"))
            return template.format(value=write(said.quantity))
        if said.kind == "answer" and not said.levels:
            return self.say("dont_know")
        if said.kind in {"observation", "answer"} and said.levels and said.name in self.base.findings:
            return self.levels(said.name, said.levels)
        if said.kind == "tried" and said.name in self.base.steps:
            name = self.base.text(self.base.steps[said.name].name).lower()
            outcome = self.entry("outcome", said.outcome) if said.outcome else ""
            return self.say("tried", name=name, outcome=outcome)
        if said.kind == "belief":
            name = self.base.cause_name(said.name).lower() if said.name in self.base.causes else said.text
            return self.say("belief_heard", name=name)
        return ""

    def levels(self, finding: str, levels: Sequence[str]) -> str:
        """Return levels in words; what leaves most levels open is said by what it rules out."""
        spec = self.base.findings[finding]
        names = {level: self.base.text(entry.name) for level, entry in spec.levels.items()}
        if len(levels) * 2 > len(names) and len(levels) > 1:
            return "not " + " or ".join(name for level, name in names.items() if level not in levels)
        return " or ".join(names[level] for level in names if level in levels)

    def refused(self, parts: Sequence[Refused]) -> str | None:
        """Return the line that says what could not be used."""
        if not parts:
            return None
        items = [
            self.say("refused_item", text=part.text, reason=part.reason) if part.reason else f"“{part.text}”"
            for part in parts
        ]
        return self.say("refused", items="; ".join(items))

    # -- what it means

    def notes(self, assessment: Assessment) -> list[Part]:
        """Return the notes on how the numbers were read."""
        measures, target = assessment.measures, assessment.measures.target
        found: list[str] = []
        for name in assessment.known.disagreements:
            said = assessment.case.observations[name].levels
            levels = assessment.known.findings[name].levels
            fields = {"measured": self.levels(name, levels), "said": self.levels(name, said)}
            found.append(self.say("disagree", finding=self.base.text(self.base.findings[name].name), **fields))
        if "ratio" in measures.doubts:
            ratio = measures.values["yield"] / measures.values["dose"]
            found.append(self.say("doubt_ratio", ratio=number(ratio, 0.1)))
        if "extraction" in measures.doubts:
            found.append(self.say("doubt_extraction"))
        found += self._series(assessment)
        time, projected = measures.values.get("time"), measures.projected_s
        if time is not None and projected is not None and abs(projected - time) >= 1.0 and target.yield_g:
            found.append(self.say("projected", **{"yield": number(target.yield_g), "time": number(projected)}))
        if time is not None and "time" in target.assumed:
            if "yield" in target.assumed or target.yield_g is None:
                found.append(self.say("assumed", ratio="1:2", time=number(target.time_s)))
            else:
                found.append(self.say("assumed_time", time=number(target.time_s)))
        return [Part("note", text) for text in found]

    def _series(self, assessment: Assessment) -> list[str]:
        """Say what the shots at this setting tell together: their own spread, or that something changed at once."""
        values, target, found = assessment.measures.values, assessment.measures.target, list[str]()
        if values.get("shift", 0.0) >= SHIFTED_FROM:
            size = values["shift_s"]
            key = "shifted_slower" if size > 0 else "shifted_faster"
            found.append(self.say(key, seconds=number(abs(size))))
        step = self.base.steps.get(assessment.choice.id)
        moved = step is not None and step.variable == "grind"
        if values.get("alike", 0.0) > SPREAD_FROM and assessment.case.setting != "service" and not moved:
            band = number(2.0 * target.sigma_s)
            found.append(self.say("own_spread", spread=number(target.sigma_s), band=band))
        return found

    def others(self, assessment: Assessment, said: Iterable[Statement]) -> list[Part]:
        """Say which complaint comes first where another is told of, and that the other is kept."""
        named = {complaint for one in said for complaint in self._complaints(one)}
        if not named & set(assessment.other_complaints):
            return []
        others = " and ".join(self.entry("complaint", name) for name in assessment.other_complaints)
        return [Part("note", self.say("others", first=self.entry("complaint", assessment.complaint), others=others))]

    def _complaints(self, said: Statement) -> tuple[str, ...]:
        finding = self.base.findings.get(said.name)
        return finding.complaints[:1] if finding is not None and finding.symptom else ()

    def causes(self, assessment: Assessment) -> Part:
        """Return the line of likely causes, the root of the first beside it."""
        items: list[str] = []
        for cause in assessment.causes[:SHOWN_CAUSES]:
            if cause.probability < SHOWN_FROM and items:
                break
            fields = {"name": cause.name.lower(), "chance": percent(cause.probability)}
            root = cause.roots[0] if cause.roots else None
            if not items and root is not None and root.probability > cause.probability / 2:
                items.append(self.say("root_item", root=self.base.cause_name(root.id).lower(), **fields))
            else:
                items.append(self.say("likely_item", **fields))
        key = "likely" if assessment.causes[0].probability >= LEADING_FROM else "early"
        return Part("causes", self.say(key, items=", ".join(items)))

    def why(self, assessment: Assessment, step: NextStep) -> Part | None:
        """Return in a sentence the mechanism of the likeliest cause the step treats."""
        treated = self._treated(assessment, step)
        if treated is None:
            return None
        return Part("why", self.say("because", text=self.base.text(self.base.causes[treated.id].because)))

    def _treated(self, assessment: Assessment, step: NextStep) -> RankedCause | None:
        """Return the likeliest cause that names the step as a cure."""
        named = (cause for cause in assessment.causes if cause.id in self.base.causes)
        return next((c for c in named if any(cure.step == step.id for cure in self.base.causes[c.id].cures)), None)

    def beliefs(self, assessment: Assessment) -> list[Part]:
        """Answer the person's own theories kindly, without taking them as seen."""
        chances = {cause.id: cause.probability for cause in assessment.causes}
        leading = assessment.causes[0].id
        held = [name for name in dict.fromkeys(assessment.case.beliefs) if name in chances and name in self.base.causes]
        return [
            Part("note", self.say("belief", name=self.base.cause_name(name).lower(), chance=percent(chances[name])))
            for name in held
            if name != leading
        ]

    def outcome(self, outcome: Outcome) -> list[Part]:
        """Say whether the last step helped or went too far, or that the shots do not tell yet."""
        verdict = outcome.verdict
        if verdict is None:
            return []
        helped = "overshot" if outcome.overshot else "helped"
        key = helped if verdict.helped >= 0.5 else "not" if outcome.failed else "open"
        step = self.base.text(self.base.steps[verdict.step].name).lower()
        return [Part("verdict", self.say(f"verdict_{key}", step=step, chance=percent(verdict.helped)))]

    # -- what to do

    def step(self, step: NextStep, assessment: Assessment) -> list[Part]:
        """Return the one thing to do or to answer, with what the next shot should show."""
        if step.answers and step.kind != "repeat":
            return self._question(step)
        parts: list[Part] = []
        if assessment.repeat_first:
            parts.append(Part("note", self.say("repeat_first")))
        if assessment.known.stops:
            return [Part("step", step.text)]
        ends = step.kind in {"accept", "hand_over"}
        parts.append(Part("step", step.text if ends else self.say("do", text=step.text)))
        if step.expect:
            items = [self._expected(wanted) for wanted in step.expect]
            text = self.say("expect", items=", ".join(items))
            parts.append(Part("expect", " ".join(filter(None, [text, self._splits(step, assessment)]))))
        if step.hold:
            held = " and ".join(self.entry("variable", name) for name in step.hold)
            parts.append(Part("expect", self.say("hold", items=held)))
        return parts + self._later(step, assessment)

    def handed_over(self, assessment: Assessment, text: str) -> str:
        """Return the text of handing over, with what it looks like or that it cannot be told from here."""
        first = assessment.causes[0]
        cures = self.base.causes[first.id].cures if first.id in self.base.causes else ()
        if first.probability >= LEADING_FROM and any(cure.step == "hand_over" for cure in cures):
            name, chance = first.name.lower(), percent(first.probability)
            return self.say("looks_like", name=name, chance=chance, text=text)
        return f"{self.say('second_opinion')} {text}"

    def _question(self, step: NextStep) -> list[Part]:
        key = "ask" if step.kind == "question" else "check"
        lines = [self.say("answer_line", number=str(a.number), text=a.text) for a in step.answers]
        return [Part("ask", "\n".join([self.say(key, text=step.text), *lines])), Part("note", self.say("answer_hint"))]

    def _expected(self, wanted: Range) -> str:
        step = 0.1 if wanted.name == "dose" else 1.0
        return self.say(f"expect_item_{wanted.name}", low=number(wanted.low, step), high=number(wanted.high, step))

    def cost(self, cost: StepCost) -> str:
        """Return in brackets what a step takes: time as roughly as anybody can say it beforehand, coffee in grams."""
        minutes = floor(cost.seconds / 60 + 0.5)
        time = self.say("cost_minutes", count=str(minutes)) if minutes else self.say("cost_below_minute")
        if not cost.grams:
            return self.say("cost", time=time)
        return self.say("cost_grams", time=time, grams=number(cost.grams))

    def _splits(self, step: NextStep, assessment: Assessment) -> str:
        """Say what the result tells apart, where the step cures the first cause and not the second."""
        named = [cause for cause in assessment.causes if cause.id in self.base.causes][:2]
        if len(named) < 2 or named[1].probability < SHOWN_FROM:
            return ""
        cures = [{cure.step for cure in self.base.causes[cause.id].cures} for cause in named]
        if step.id in cures[0] and step.id not in cures[1]:
            return self.say("splits", first=named[0].name.lower(), second=named[1].name.lower())
        return ""

    def _later(self, step: NextStep, assessment: Assessment) -> list[Part]:
        """Name the cure that is left for later where today's step only compensates, and what a root asks for."""
        first = self._treated(assessment, step)
        if first is None:
            return []
        key = "later_service" if assessment.case.setting == "service" else "later"
        spec = self.base.causes[first.id]
        only_today = [cure for cure in spec.cures if cure.step == step.id and cure.today]
        cured = [cure for cure in spec.cures if not cure.today]
        if only_today and cured:
            cure = self.base.text(self.base.steps[cured[0].step].name)
            return [Part("later", self.say("today_only", text=cure.lower()))]
        roots = [root.id for root in first.roots[:1] if root.probability > first.probability / 2]
        texts = [self.base.causes[root].later for root in roots] + [spec.later]
        return [Part("later", self.say(key, text=self.base.text(text))) for text in texts if text][:1]

    def notices(self, notices: Iterable[Notice]) -> tuple[list[Part], list[Part]]:
        """Return the stop notices, which come first, and the cautions, which come last."""
        stops, cautions = [], []
        for notice in notices:
            if notice.severity == "stop":
                stops.append(Part("stop", notice.text))
            else:
                cautions.append(Part("care", self.say("care", text=notice.text)))
        return stops, cautions
