"""Which cause a person means by its words: its id, its name, or something close to either."""

from difflib import get_close_matches

from diagnose.rulebase.base import RuleBase


def cause_called(base: RuleBase, words: str) -> str:
    """Return the id of the cause `words` name, or the words themselves where none comes near."""
    called = {}
    for cause in base.causes:
        called[cause] = cause
        called[cause.replace("_", " ")] = cause
        called[base.cause_name(cause).lower()] = cause
    asked = " ".join(words.lower().split())
    near = get_close_matches(asked, called, 1, cutoff=0.75)
    if asked in called or near:
        return called.get(asked) or called[near[0]]
    wanted = set(asked.split())
    holding = [cause for name, cause in called.items() if wanted and wanted <= set(name.split())]
    return holding[0] if holding else words
