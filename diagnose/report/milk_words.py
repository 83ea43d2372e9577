"""The words beside a number that say what it is of a jug of milk, and how each number is said back."""

from collections.abc import Mapping
from typing import Final, Literal

Role = Literal[
    "milk_g", "milk_ml", "final_ml", "start_degc", "stop_degc", "boiler_bar", "boiler_absolute_bar", "boiler_degc",
    "dryness", "altitude_m", "espresso_g", "espresso_degc", "seen_s", "seen_degc", "rate_degc_s",
]  # fmt: skip

BOILER_ROLES: Final[frozenset[Role]] = frozenset({"boiler_bar", "boiler_absolute_bar", "boiler_degc"})

NAMES: Final[Mapping[Role, str]] = {
    "milk_g": "milk",
    "milk_ml": "milk",
    "final_ml": "volume in the end",
    "start_degc": "from",
    "stop_degc": "to",
    "boiler_bar": "boiler at",
    "boiler_absolute_bar": "boiler at",
    "boiler_degc": "boiler at",
    "dryness": "steam dryness",
    "altitude_m": "altitude",
    "espresso_g": "espresso",
    "espresso_degc": "espresso at",
    "seen_s": "steamed for",
    "seen_degc": "seen at",
    "rate_degc_s": "heating at",
}

LIMITS: Final[Mapping[Role, tuple[float, float, str]]] = {
    "milk_g": (10.0, 5000.0, "jug of milk"),
    "milk_ml": (10.0, 5000.0, "jug of milk"),
    "final_ml": (10.0, 20_000.0, "volume in the end"),
    "start_degc": (0.0, 60.0, "starting temperature of milk"),
    "stop_degc": (0.0, 95.0, "final temperature of milk"),
    "boiler_bar": (0.0, 3.0, "boiler pressure (gauge)"),
    "boiler_absolute_bar": (0.5, 4.0, "boiler pressure (absolute)"),
    "boiler_degc": (80.0, 150.0, "boiler temperature"),
    "dryness": (0.5, 1.0, "steam dryness (share of vapour)"),
    "altitude_m": (-430.0, 5000.0, "altitude"),
    "espresso_g": (1.0, 500.0, "espresso"),
    "espresso_degc": (0.0, 100.0, "temperature of the espresso"),
    "seen_s": (1.0, 600.0, "time of steaming"),
    "seen_degc": (0.0, 95.0, "temperature seen"),
    "rate_degc_s": (0.05, 20.0, "heating rate"),
}
"""Ranges that a number is held to in the unit it was given in; the formulas hold theirs as well."""


def _words(text: str) -> frozenset[str]:
    return frozenset(text.split())


ESPRESSO: Final = _words("espresso espressos coffee shot shots ristretto lungo double")
MILK: Final = _words("milk jug pitcher oat soy soya almond skim whole")
BOILER: Final = _words("boiler steam pressure gauge wand")
START: Final = _words("from start starts starting started fridge cold initial")
STOP: Final = _words("to until till stop stops stopped stopping final target finish finished end ->")
GROWN: Final = _words("volume grew grown grows rose rises risen foam foamed foams swells reads fills filled ends")
DRY: Final = _words("dryness dry quality")
WET: Final = _words("wet wetness moisture")
REACHING: Final = _words("to until till at -> = => : it is was the milk reached reaches gave reads")
TAKING: Final = _words("in after within takes took it at about")
CUES: Final[Mapping[str, frozenset[str]]] = {"espresso": ESPRESSO, "boiler": BOILER, "start": START, "stop": STOP}
"""What a temperature may be of, by the nearest of these words before it."""

KINDS: Final[Mapping[str, str]] = {
    "skim": "skim",
    "skimmed": "skim",
    **dict.fromkeys(("soy", "soya", "almond", "pea"), "soy, almond or pea"),
    "oat": "oat",
    **dict.fromkeys(("child", "children", "kid", "kids"), "drink at once or child"),
}
"""Kinds of milk and drink that have figures of their own."""
