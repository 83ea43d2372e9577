"""Two rules of different kinds have the same name.

A name stands for one thing: a finding and a cause (or a step, or a notice) called the same could not be told apart in
what the program says, nor by ``diagnose rules show``.
"""

from collections.abc import Iterator, Mapping

from diagnose.model import Problem
from diagnose.rulebase.base import KINDS, RuleBase

CODE = "shared-name"


def check(base: RuleBase) -> Iterator[Problem]:
    """Yield a problem for each rule whose name a rule of an earlier kind has already."""
    taken: dict[str, str] = {}
    for kind in KINDS:
        rules: Mapping[str, object] = getattr(base, kind)
        for name in rules:
            if name in taken:
                what = f"{name} is already the name of a {taken[name][:-1]}."
                yield base.document(kind, name).problem((), CODE, what, "Rename one of the two files.")
            taken.setdefault(name, kind)
