"""What the tests of this room share: a small rule base, and understandings written as one line a person can read."""

from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import yaml

from diagnose.language import Lexicon, Understanding
from diagnose.model import Statement
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.loader import read_rules

HERE = Path(__file__).parent
RULES = HERE.parent.parent / "rules"


@cache
def own_rules() -> RuleBase:
    """Return the rules the program comes with, as far as they can be read."""
    return read_rules(RULES)[0]


@cache
def small_rules() -> RuleBase:
    """Return a handful of rules of the tests' own, with the program's general words and dangers."""
    small, problems = read_rules(HERE / "rules")
    assert problems == []
    own = own_rules()
    dangers = {name: finding for name, finding in own.findings.items() if own.areas[name] == "danger"}
    return replace(
        small,
        findings={**small.findings, **dangers},
        areas={**small.areas, **dict.fromkeys(dangers, "danger")},
        words=own.words,
    )


@cache
def lexicon() -> Lexicon:
    """Return the lexicon of the small rules."""
    return Lexicon.from_rules(small_rules())


@cache
def own_lexicon() -> Lexicon:
    """Return the lexicon of the rules the program comes with."""
    return Lexicon.from_rules(own_rules())


@cache
def table(name: str) -> dict[str, Any]:
    """Return one of the YAML tables beside this file."""
    found = yaml.safe_load((HERE / f"{name}.yaml").read_text(encoding="utf-8"))
    assert isinstance(found, dict)
    return found


def written(understanding: Understanding) -> str:
    """Return an understanding as one line: statements, then what was refused."""
    parts = ["correction"] if understanding.correction else []
    parts += [statement(said) for said in understanding.statements]
    parts += [f"refused '{refused.text}'" for refused in understanding.refused]
    return "; ".join(parts)


def statement(said: Statement) -> str:
    """Return one statement as a few words: "dose 18 g #1", "taste_lean slightly_sour #1 hedged"."""
    words: list[str] = [] if said.kind in {"measurement", "observation"} else [said.kind]
    words += [said.name] if said.name else ["?"]
    quantity = said.quantity
    if quantity is not None:
        spread = "" if quantity.low == quantity.high else f" ({quantity.low:.4g} to {quantity.high:.4g})"
        words.append(f"{quantity.value:.6g}{spread} {quantity.unit}".strip())
    if said.levels:
        words.append(("instead of " if said.kind == "measurement" else "") + "|".join(said.levels))
    if said.kind == "answer" and not said.levels:
        words.append("don't know")
    words += [said.outcome] if said.outcome else []
    words += [f"#{said.shot}"] if said.shot else []
    words += ["not"] if said.negated else []
    words += ["hedged"] if said.hedged else []
    words += [said.source] if said.source != "said" and said.kind != "answer" else []
    return " ".join(words)
