"""A text, or a list of phrases, has no English (`en`).

English is what is shown when another language has no text of its own, so it must be there.
"""

from collections.abc import Iterator

from diagnose.model import Problem
from diagnose.rulebase.base import LANGUAGE, RuleBase
from diagnose.rulebase.checks.texts import texts, words

CODE = "missing-language"


def check(base: RuleBase) -> Iterator[Problem]:
    """Yield a problem for each text or list of phrases without `en`."""
    for entries, form in ((texts(base), "..."), (words(base), "[...]")):
        for document, path, by_language in entries:
            if LANGUAGE not in by_language:
                what = f"{path[-1]!r} has {', '.join(by_language)} but no English."
                yield document.problem(path, CODE, what, f"Add {LANGUAGE}: {form} here.")
