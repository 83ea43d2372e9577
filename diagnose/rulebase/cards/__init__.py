"""The rule base to read: a list of all rules, a card for one, and a map of causes against findings.

Each comes as text, at most 120 columns wide, and as a plain dict for ``--json``.
"""

from diagnose.rulebase.cards.card import card_dict, card_text
from diagnose.rulebase.cards.causes_map import map_dict, map_text
from diagnose.rulebase.cards.listing import FORMAT, counts, counts_text, find, list_dict, list_text, nearest

__all__ = [
    "FORMAT",
    "card_dict",
    "card_text",
    "counts",
    "counts_text",
    "find",
    "list_dict",
    "list_text",
    "map_dict",
    "map_text",
    "nearest",
]
