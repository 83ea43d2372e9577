"""Which cause a person means by its words: its id, its name, words of either, or something close to them."""

from collections.abc import Iterable, Sequence
from difflib import get_close_matches

from diagnose.rulebase.base import RuleBase

NAMED_AT_ONCE = 3  # causes to choose from, where a word fits several

_CLOSE = 0.75  # how alike a mistyped name must be, from 0 to 1
_CLOSE_WORD = 0.8  # how alike a mistyped word of a name must be
_LIGHT = frozenset({"a", "an", "the", "of", "my", "it", "is", "that", "too"})  # tell no cause from another


def causes_called(base: RuleBase, words: str, likeliest: Sequence[str] = ()) -> tuple[str, ...]:
    """Return the ids of the causes `words` may mean; several where they fit equally well, none where none comes near.

    An id or a name in full goes before whole words of it, and those before what may be mistyped. Several are in the
    order of `likeliest` (ids, likeliest first), then those that begin with such a word, then from common to rare:
    `NAMED_AT_ONCE` of them are enough to show.
    """
    asked = " ".join(words.lower().split())
    called = {name: cause for cause in base.causes for name in _names(base, cause)}
    if asked in called:
        return (called[asked],)
    wanted = _heavy(asked) or frozenset(asked.split())
    mended = _mended(called, wanted)
    found = _holding(called.items(), wanted) or _alike(called, asked) or _holding(called.items(), mended)
    places = {cause: place for place, cause in enumerate(likeliest)}

    def order(cause: str) -> tuple[int, bool, float]:
        begins = any(name.startswith(tuple(wanted | mended)) for name in _names(base, cause))
        return places.get(cause, len(places)), not begins, -_commonness(base, cause)

    return tuple(sorted(found, key=order))


def _names(base: RuleBase, cause: str) -> tuple[str, ...]:
    return cause, cause.replace("_", " "), base.cause_name(cause).lower()


def _heavy(text: str) -> frozenset[str]:
    """Return the words of a text that can tell one cause from another."""
    return frozenset(text.replace("_", " ").split()) - _LIGHT


def _holding(called: Iterable[tuple[str, str]], wanted: frozenset[str]) -> list[str]:
    """Return the causes one of whose names holds all the wanted words."""
    return list(dict.fromkeys(cause for name, cause in called if wanted and wanted <= _heavy(name)))


def _alike(called: dict[str, str], asked: str) -> list[str]:
    """Return the cause whose name is closest to what was typed, where that is more than one word."""
    near = get_close_matches(asked, called, 1, cutoff=_CLOSE) if " " in asked else []
    return [called[name] for name in near]


def _mended(called: Iterable[str], wanted: frozenset[str]) -> frozenset[str]:
    """Return the wanted words, each as the closest word of any name; none where one comes near nothing."""
    known = sorted({word for name in called for word in _heavy(name)})
    near = [get_close_matches(word, known, 1, cutoff=_CLOSE_WORD) for word in wanted]
    return frozenset(words[0] for words in near) if all(near) else frozenset()


def _commonness(base: RuleBase, cause: str) -> float:
    """Return how common a cause is in all settings together; 0 for one that only acts through another."""
    from diagnose.rulebase.vocabulary import PRIORS

    prior = base.causes[cause].prior
    return sum(PRIORS[grade] for grade in dict(prior).values()) if prior else 0.0
