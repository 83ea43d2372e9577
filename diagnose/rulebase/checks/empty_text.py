"""A name, a reason or another text is there but empty.

Each is shown to the person: a cause without *because* convinces nobody.
"""

from collections.abc import Iterator

from diagnose.model import Problem
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.checks.texts import texts
from diagnose.rulebase.checks.unquoted_text import LANGUAGE_CODE

CODE = "empty-text"


def check(base: RuleBase) -> Iterator[Problem]:
    """Yield a problem for each text of nothing but blanks."""
    for document, path, by_language in texts(base):
        for language, text in by_language.items():
            if LANGUAGE_CODE.fullmatch(language) and not str(text).strip():
                todo = "Write it, or remove the key if it may be left out."
                yield document.problem((*path, language), CODE, f"{path[-1]!r} is empty.", todo)
