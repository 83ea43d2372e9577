"""Nothing refers to a rule: a step no cause cures with, a notice nobody gives, a source nobody cites.

A notice with its own `when` needs no reference. A cause without `prior` acts only as a root, so some cause must name it
under `roots`. The steps accept, hand_over and repeat_unchanged are built in.
"""

from collections.abc import Iterator

from diagnose.model import Problem
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.checks.mentions import BUILT_IN_STEPS, mentions

CODE = "unreferenced"


def check(base: RuleBase) -> Iterator[Problem]:
    """Yield a problem for each step, notice, root and source that nothing names."""
    named = {(mention.kind, mention.name) for mention in mentions(base) if mention.role != "excludes"}
    for name in base.steps:
        if ("steps", name) not in named and name not in BUILT_IN_STEPS:
            what, todo = f"no cause cures with the step {name}.", "Name it in `cures` of a cause, or remove it."
            yield base.document("steps", name).problem((), CODE, what, todo)
    for name, notice in base.notices.items():
        if ("notices", name) not in named and not notice.when:
            what = f"nothing gives the notice {name}."
            todo = "Add `when`, name it in `cautions` of a step, a check or a cause, or remove it."
            yield base.document("notices", name).problem((), CODE, what, todo)
    for name, cause in base.causes.items():
        if ("causes", name) not in named and cause.prior is None:
            what = f"{name} has no prior and no cause has it as a root."
            todo = "Add `prior`, or name it in `roots` of the cause it brings about."
            yield base.document("causes", name).problem((), CODE, what, todo)
    yield from _sources(base, {name for kind, name in named if kind == "sources"})


def _sources(base: RuleBase, cited: set[str]) -> Iterator[Problem]:
    """Yield the sources nobody cites, at their line where the loaded base knows it."""
    for name in base.sources:
        if name not in cited:
            document = base.documents.get(("sources", "sources"))
            what, todo = f"no rule cites the source {name}.", "Cite it where its figures are used, or remove it."
            line, column = document.place((name,)) if document else (0, 0)
            yield Problem("sources.yaml", line, column, CODE, what, todo)
