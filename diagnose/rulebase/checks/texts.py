"""Every text for people in the rule files, with its place."""

from collections.abc import Iterator, Mapping
from itertools import chain

from pydantic import BaseModel

from diagnose.rulebase.base import KINDS, RuleBase
from diagnose.rulebase.reading import Document, PathKey

TEXT_KEYS = frozenset({"name", "because", "text", "similar", "later"})
WORD_KEYS = frozenset({"words", "done_words"})

Entry = tuple[Document, PathKey, Mapping[str, object]]


def texts(base: RuleBase) -> Iterator[Entry]:
    """Yield (file, place, text by language) for every name, reason, instruction, question and answer."""
    yield from _entries(base, TEXT_KEYS)


def words(base: RuleBase) -> Iterator[Entry]:
    """Yield (file, place, phrases by language) for every list of phrases that is not left out."""
    yield from (entry for entry in _entries(base, WORD_KEYS) if entry[2])


def _entries(base: RuleBase, keys: frozenset[str]) -> Iterator[Entry]:
    for kind in KINDS:
        rules: Mapping[str, BaseModel] = getattr(base, kind)
        for name, rule in rules.items():
            for path, value in _walk(rule, (), keys):
                yield base.document(kind, name), path, value


def _walk(value: object, path: PathKey, keys: frozenset[str]) -> Iterator[tuple[PathKey, Mapping[str, object]]]:
    """Yield every mapping that stands under one of `keys` of a part of a rule."""
    if isinstance(value, BaseModel):
        for key, item in value:
            if key in keys and isinstance(item, Mapping):
                yield (*path, key), item
            else:
                yield from _walk(item, (*path, key), keys)
    elif isinstance(value, Mapping):
        yield from chain.from_iterable(_walk(item, (*path, key), keys) for key, item in value.items())
    elif isinstance(value, tuple):
        yield from chain.from_iterable(_walk(item, (*path, index), keys) for index, item in enumerate(value))
