"""What stands on labels, strips, drop kits and supplier's sheets, in the spellings people meet, and what it means here.

Names of ions are known in the languages bottles carry most (English, German, French, Italian, Spanish).
"""

from collections.abc import Mapping
from typing import Final

from diagnose.science.water.units import Ion

_ION_NAMES: Final[Mapping[Ion, str]] = {
    "Ca": "ca calcium calcio kalzium",
    "Mg": "mg magnesium magnesio magnésium",
    "Na": "na sodium natrium sodio",
    "K": "k potassium kalium potassio potasio",
    "HCO3": "hco3 bicarbonate bicarbonates bicarb hydrogencarbonate hydrogencarbonat hydrocarbonate bicarbonato "
    "bicarbonati bicarbonatos hydrogénocarbonates",
    "Cl": "cl chloride chlorides chlorid chlorure chlorures cloruri cloruro cloruros",
    "SO4": "so4 sulfate sulphate sulfates sulphates sulfat sulfato sulfatos solfati",
}
_OTHERS: Final[Mapping[str, str]] = {
    "hardness": "hardness hard gesamthärte durezza dureza",
    "alkalinity": "alkalinity alk alkalinität alcalinité tac",
    "solids": "tds meter",
    "sheet solids": "residue abdampfrückstand mineralisation mineralization",
    "conductivity": "conductivity ec cond leitfähigkeit conductivité conduttività conductividad",
    "ph": "ph",
    "chlorine": "chlorine cl2 chlor",
    "temperature": "temperature temp",
    "brew": "brew brewing brewed",
    "boiler": "boiler steam",
    "GH": "gh",
    "KH": "kh",
    "TH": "th",
    "nitrate": "no3 nitrate nitrates nitrat nitrati nitratos",
    "nitrite": "no2 nitrite nitrites",
    "fluoride": "f fluoride fluorid",
    "silica": "sio2 silica silicate silicium",
    "phosphate": "po4 phosphate phosphates",
    "ammonium": "nh4 ammonium ammonia",
    "carbonate": "co3 carbonate",
    "carbon dioxide": "co2",
    "iron": "fe iron",
    "manganese": "mn manganese",
    "copper": "cu copper",
    "lead": "pb lead",
    "lithium": "li lithium",
    "strontium": "sr strontium",
}
_PHRASES: Final[Mapping[str, str]] = {
    "total hardness": "hardness",
    "general hardness": "hardness",
    "water hardness": "hardness",
    "calcium hardness": "Ca hardness",
    "ca hardness": "Ca hardness",
    "magnesium hardness": "Mg hardness",
    "mg hardness": "Mg hardness",
    "carbonate hardness": "alkalinity",
    "temporary hardness": "alkalinity",
    "permanent hardness": "permanent hardness",
    "total alkalinity": "alkalinity",
    "acid capacity": "acid capacity",
    "buffer capacity": "acid capacity",
    "hydrogen carbonate": "HCO3",
    "hydrogen carbonates": "HCO3",
    "bicarbonate alkalinity": "alkalinity",
    "total dissolved solids": "sheet solids",
    "dissolved solids": "sheet solids",
    "dry residue": "sheet solids",
    "residuo fisso": "sheet solids",
    "résidu sec": "sheet solids",
    "residuo seco": "sheet solids",
    "tds meter": "solids",
    "electrical conductivity": "conductivity",
    "specific conductance": "conductivity",
    "free chlorine": "chlorine",
    "total chlorine": "chlorine",
    "steam boiler": "boiler",
}

NAMES: Final[Mapping[str, str]] = {
    **{word: ion for ion, words in _ION_NAMES.items() for word in words.split()},
    **{word: key for key, words in _OTHERS.items() for word in words.split()},
    **_PHRASES,
}
"""Spelling to key: an ion, one of the quantities below, or the name of something that has no part in the reckoning."""

ION_FIELDS: Final[Mapping[Ion, tuple[str, str]]] = {
    "Ca": ("calcium_mg_l", "calcium"),
    "Mg": ("magnesium_mg_l", "magnesium"),
    "Na": ("sodium_mg_l", "sodium"),
    "K": ("potassium_mg_l", "potassium"),
    "HCO3": ("bicarbonate_mg_l", "bicarbonate"),
    "Cl": ("chloride_mg_l", "chloride"),
    "SO4": ("sulfate_mg_l", "sulfate"),
}
"""The field of `Water` each ion goes to, and its name in an answer."""

UNUSED: Final = frozenset(_OTHERS) - {
    "hardness", "alkalinity", "solids", "sheet solids", "conductivity", "ph", "chlorine", "temperature", "brew",
    "boiler", "GH", "KH", "TH",
} | {"permanent hardness"}  # fmt: skip
"""Named on many sheets, of no use here, and said to be unused whatever their unit."""

CONVENTIONS: Final[Mapping[str, str]] = {"nacl": "NaCl", "kcl": "KCl", "442": "442"}
"""What a meter's salt is called, to the science's name for it."""
