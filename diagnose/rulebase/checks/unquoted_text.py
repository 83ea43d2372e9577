"""A text is cut at a comma because it stands in braces without quotes.

In `{en: Wide gaps, so the water rushes}` the comma ends the English text; what follows is taken for another language.
Put the whole text in double quotes: `{en: "Wide gaps, so the water rushes"}`. A language code has two letters.
"""

import re
from collections.abc import Iterator

from diagnose.model import Problem
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.checks.texts import texts, words

CODE = "unquoted-text"
LANGUAGE_CODE = re.compile(r"[a-z]{2}")


def check(base: RuleBase) -> Iterator[Problem]:
    """Yield a problem for each language key that is not a language code."""
    for entries in (texts(base), words(base)):
        for document, path, by_language in entries:
            for language in by_language:
                if not LANGUAGE_CODE.fullmatch(language):
                    what = f"{language!r} is not a language code of two letters; {path[-1]!r} was cut at a comma."
                    yield document.problem((*path, language), CODE, what, "Put the whole text in double quotes.")
