"""A condition can never hold, so the rule behind it never counts.

Bounds that leave no number (above 5 and below 3), or only numbers nobody could state (a dose above 50 g); two
conditions on one finding that share no level; an `applies_when` that contradicts the `needs` of its own cause; a cause
that needs a finding of another complaint; a notice that waits for a number, though notices are read from the words
before any number is; a prior of "never" in every setting.
"""

from collections.abc import Iterator

from diagnose.model import Problem
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.checks.mentions import When, problem, whens
from diagnose.rulebase.checks.regions import region

CODE = "unreachable"


def check(base: RuleBase) -> Iterator[Problem]:
    """Yield a problem for each condition that cannot hold."""
    for when in whens(base):
        impossible = list(region(when.conditions).impossible())
        if impossible:
            what = f"these conditions leave nothing possible for {', '.join(impossible)}."
            yield problem(base, when, CODE, what, "Correct the bounds or the levels.")
        elif when.role == "applies_when":
            yield from _against_needs(base, when)
        if when.role == "when" and any(condition.measure for condition in when.conditions):
            what = "a notice is given on what is said, before any number is read."
            yield problem(base, when, CODE, what, "Name a finding that has words.")
    for name, cause in base.causes.items():
        document = base.document("causes", name)
        if cause.prior and {cause.prior.home, cause.prior.service, cause.prior.training} == {"never"}:
            todo = "Give a prior other than never in one setting, or remove `prior` if it acts only as a root."
            yield document.problem(("prior",), CODE, f"{name} is never the cause in any setting.", todo)
        for index, condition in enumerate(cause.needs):
            finding = base.findings.get(condition.finding or "")
            if finding and finding.complaints and not set(finding.complaints) & set(cause.complaints):
                what = (
                    f"{condition.finding} belongs to {', '.join(finding.complaints)}, "
                    f"{name} to {', '.join(cause.complaints)}."
                )
                todo = "Add the complaint to the cause or to the finding, or need something else."
                yield document.problem(("needs", index), CODE, what, todo)


def _against_needs(base: RuleBase, when: When) -> Iterator[Problem]:
    needs = base.causes[when.by].needs
    if any(region(needs).impossible()):
        return  # reported at `needs`
    for name in region((*needs, *when.conditions)).impossible():
        what = f"`needs` of {when.by} contradicts this: nothing is left possible for {name}."
        yield problem(base, when, CODE, what, "Correct one of the two, or remove this entry.")
