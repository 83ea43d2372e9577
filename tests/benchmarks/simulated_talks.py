"""Talks with simulated persons whose machine has a known fault: how many questions, how often right, how often solved.

Run by hand: ``python tests/benchmarks/simulated_talks.py [TALKS] [SETTING ...]``. Truth is drawn from the prior and
answers from the rule base's own tables, so this measures the strategy of asking, not the knowledge.
"""

import random
import sys
from dataclasses import dataclass
from statistics import fmean, median

from diagnose.case.fold import Case, Observation
from diagnose.conversation.assess import Assessor
from diagnose.inference.hypotheses import Hypothesis, Weigher
from diagnose.model import NOTHING_WRONG, UNKNOWN, Setting
from diagnose.rulebase.loader import load

DONT_KNOW = 0.15
MOST_TURNS = 40


@dataclass
class Talk:
    """What happened in one talk."""

    questions: int = 0
    first_right: bool = False
    last_right: bool = False
    in_three: bool = False
    solved: bool = False


class Simulator:
    """Draws faults and answers."""

    def __init__(self, setting: Setting, seed: int) -> None:
        """Prepare the rule base and the prior of the setting."""
        self.rng = random.Random(seed)
        self.base = load()
        self.assessor = Assessor(self.base)
        self.setting: Setting = setting
        self.asks = [n for n, f in self.base.findings.items() if f.symptom and f.complaints[:1] == ("shot",)]

    def weigher(self, case: Case) -> Weigher:
        """Return the weigher of a case."""
        return self.assessor._weigher(case, self.assessor.know(case)[1])

    def draw(self, weigher: Weigher, truth: Hypothesis, finding: str, *, abnormal: bool = False) -> str | None:
        """Return a level of a finding under the truth; with `abnormal` only one that is a complaint, or None."""
        row = dict(weigher.row(truth, finding))
        if abnormal:
            row.pop(self.base.findings[finding].normal or "", None)
        levels = list(row)
        return self.rng.choices(levels, [row[level] for level in levels])[0]

    def truth(self) -> tuple[Weigher, Hypothesis]:
        """Return a fault drawn from the prior among single causes and pairs."""
        weigher = self.weigher(Case(self.setting))
        faults = [b.hypothesis for b in weigher.beliefs() if b.hypothesis.causes[0] not in {NOTHING_WRONG, UNKNOWN}]
        return weigher, self.rng.choices(faults, [fault.prior for fault in faults])[0]

    def complaint(self, weigher: Weigher, truth: Hypothesis) -> dict[str, Observation]:
        """Return the one or two symptoms the person opens with: those most unlike normal come to mind first."""
        seen: dict[str, Observation] = {}
        weights = []
        for name in self.asks:
            normal = self.base.findings[name].normal or ""
            weights.append(1 - weigher.row(truth, name).get(normal, 0.5))
        for name in self.rng.choices(self.asks, [w**2 for w in weights], k=self.rng.choice((1, 2, 2))):
            level = self.draw(weigher, truth, name, abnormal=True)
            if level is not None:
                seen[name] = Observation((level,), "said", "")
        return seen

    def run(self) -> Talk:
        """Return one talk, to its end."""
        weigher, truth = self.truth()
        case = Case(self.setting, observations=self.complaint(weigher, truth))
        talk, unknown, failed = Talk(), set[str](), list[str]()
        for turn in range(MOST_TURNS):
            found = self.assessor.assess(case, talk.questions)
            ranked = [cause.id for cause in found.causes if cause.id in self.base.causes]
            talk.last_right = ranked[0] in truth.causes
            talk.in_three = bool(set(ranked[:3]) & set(truth.causes))
            talk.first_right = talk.first_right or (turn == 0 and talk.last_right)
            choice = found.choice
            if choice.kind == "ask":
                talk.questions += 1
                level = self.draw(weigher, truth, choice.id)
                ask = self.base.findings[choice.id].ask
                answer = next((a.levels for a in ask.answers if level in a.levels), ()) if ask else ()
                if self.rng.random() < DONT_KNOW or not answer:
                    unknown.add(choice.id)
                else:
                    case = _with(case, choice.id, tuple(answer))
            elif choice.id in {"accept", "hand_over"}:
                return talk
            else:
                cures = [c for cause in truth.causes for c in self.base.causes[cause].cures if c.step == choice.id]
                if cures and self.rng.random() < max(c.chance for c in cures):
                    talk.solved = True
                    return talk
                failed.append(choice.id)
            case = Case(
                self.setting, observations=case.observations, dont_know=frozenset(unknown), failed=tuple(failed)
            )
        return talk


def _with(case: Case, finding: str, levels: tuple[str, ...]) -> Case:
    return Case(case.setting, observations={**case.observations, finding: Observation(levels, "answered", "")})


def main() -> None:
    """Print a line per setting."""
    talks = int(sys.argv[1]) if len(sys.argv) > 1 else 100
    for setting in sys.argv[2:] or ("home", "service"):
        simulator = Simulator(setting, 1)  # type: ignore[arg-type]
        done = [simulator.run() for _ in range(talks)]
        questions = sorted(talk.questions for talk in done)
        print(  # noqa: T201
            f"{setting:9s} questions median {median(questions):.0f} p90 {questions[int(0.9 * len(questions))]} "
            f"mean {fmean(questions):.1f}; right before {fmean(t.first_right for t in done):.2f} "
            f"after {fmean(t.last_right for t in done):.2f} top three {fmean(t.in_three for t in done):.2f}; "
            f"solved {fmean(t.solved for t in done):.2f}"
        )


if __name__ == "__main__":
    main()
