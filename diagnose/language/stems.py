"""Light stemming: "gushes", "gushing" and "gushed" are one word; "sour" and "sourness" stay two.

Rules and texts go through the same function, so a stem need not be a word, it only has to be the same on both sides.
"""

from functools import lru_cache

_VOWELS = frozenset("aeiouy")
_SIBILANT = ("s", "x", "z", "ch", "sh")

# Contractions are read as the words they stand for, with or without the apostrophe.
CONTRACTIONS: dict[str, tuple[str, ...]] = {
    "cannot": ("can", "not"), "cant": ("can", "not"), "can't": ("can", "not"), "wont": ("will", "not"),
    "won't": ("will", "not"), "shan't": ("shall", "not"), "aint": ("is", "not"), "ain't": ("is", "not"),
    "isnt": ("is", "not"), "wasnt": ("was", "not"), "arent": ("are", "not"), "werent": ("were", "not"),
    "dont": ("do", "not"), "doesnt": ("does", "not"), "dosent": ("does", "not"), "didnt": ("did", "not"),
    "havent": ("have", "not"), "hasnt": ("has", "not"), "hadnt": ("had", "not"), "couldnt": ("could", "not"),
    "wouldnt": ("would", "not"), "shouldnt": ("should", "not"), "im": ("i", "am"), "ive": ("i", "have"),
    "gonna": ("going", "to"), "wanna": ("want", "to"), "theres": ("there", "is"), "thats": ("that", "is"),
}  # fmt: skip
_ENDINGS: dict[str, str] = {
    "n't": "not", "'s": "is", "'m": "am", "'ve": "have", "'re": "are", "'ll": "will", "'d": "had",
}  # fmt: skip


def expand(word: str) -> tuple[str, ...]:
    """Return the words a contraction stands for, or the word itself."""
    if word in CONTRACTIONS:
        return CONTRACTIONS[word]
    if "'" in word:
        for ending, meant in _ENDINGS.items():
            if word.endswith(ending) and len(word) > len(ending):
                return word.removesuffix(ending), meant
        return (word.replace("'", ""),)
    return (word,)


def _undouble(word: str) -> str:
    """Return the word without a doubled last consonant ("dripp" is "drip")."""
    if len(word) > 3 and word[-1] == word[-2] and word[-1] not in _VOWELS:
        return word[:-1]
    return word


@lru_cache(maxsize=16384)
def stem(word: str) -> str:
    """Return the word without endings of number, person and tense."""
    if len(word) > 4 and word.endswith(("ies", "ied")):
        return word[:-3] + "y"
    if len(word) > 4 and word.endswith("es") and word[:-2].endswith(_SIBILANT):
        word = word[:-2]
    elif len(word) > 3 and word.endswith("s") and not word.endswith(("ss", "us", "is")):
        word = word[:-1]
    for ending in ("ing", "ed"):
        root = word.removesuffix(ending)
        if root != word and len(root) > 2 and not _VOWELS.isdisjoint(root) and not word.endswith("eed"):
            word = root
            break
    if len(word) > 4 and word.endswith("e"):
        word = word[:-1]
    return _undouble(word)
