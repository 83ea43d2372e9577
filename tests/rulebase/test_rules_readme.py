"""The author's guide keeps up with what rule files may hold, and its example works."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from pydantic import BaseModel

from diagnose.rulebase import schema, vocabulary
from diagnose.rulebase.checks import everything
from diagnose.rulebase.loader import read_rules
from diagnose.rulebase.location import rules_folder
from diagnose.rules_command import copy
from diagnose.sizing import SIZES

GUIDE = (rules_folder() / "README.md").read_text("utf-8")


def keys() -> Iterator[str]:
    """Yield every key of every part of a rule file, as it is written there."""
    for part in vars(schema).values():
        if isinstance(part, type) and issubclass(part, BaseModel):
            yield from (field.alias or name for name, field in part.model_fields.items())


@pytest.mark.parametrize(
    "names",
    [
        vocabulary.PRIORS,
        vocabulary.COMPLAINTS,
        vocabulary.VARIABLES,
        vocabulary.MEASURES,
        SIZES,
        [grade for grade in vocabulary.GRADES if not grade.endswith(" against")],
    ],
    ids=["priors", "complaints", "variables", "measures", "sizes", "grades"],
)
def test_the_guide_names_every_word_of_the_vocabulary(names: list[str]) -> None:
    """No word an author may write is missing."""
    assert [name for name in names if f"`{name}`" not in GUIDE] == []


def test_the_guide_names_every_key() -> None:
    """No key of any kind of file is missing."""
    assert [key for key in keys() if not re.search(rf"`[^`]*\b{key}\b[^`]*`", GUIDE)] == []


def test_the_grade_table_is_right() -> None:
    """Decibans are those of the vocabulary; ratios are 10^(dB/10), and a base may be 0.9 over the ratio at most."""
    rows = re.findall(r"^\| `([a-z ]+)` \| (\d+) \| (\d+) \| ([\d.]+) \|$", GUIDE, re.MULTILINE)
    assert len(rows) == 5
    for word, decibans, ratio, base in rows:
        assert vocabulary.GRADES[word] == float(decibans)
        exact = 10 ** (float(decibans) / 10)
        assert float(ratio) == round(exact)
        assert float(base) == pytest.approx(0.9 / exact, rel=0.02)


def test_the_prior_words_have_their_weights() -> None:
    """The number behind each prior word is the one the ranking uses."""
    told = dict(re.findall(r"`([a-z ]+)` \(([\d.]+)\)", GUIDE))
    assert {word: float(weight) for word, weight in told.items()} == vocabulary.PRIORS


def test_the_example_passes_the_check(tmp_path: Path) -> None:
    """In a copy of the shipped rules the cause written out there is clean, and its slip is reported as shown."""
    fenced = re.findall(r"^   ```yaml\n(.*?)^   ```$", GUIDE, re.MULTILINE | re.DOTALL)
    text = "".join(line.removeprefix("   ") for line in fenced[0].splitlines(keepends=True))
    rules = tmp_path / "my-rules"
    assert copy(rules, rules_folder()) == 0
    before = everything(read_rules(rules)[0])
    new = rules / "causes/preparation/basket_wet.yaml"
    new.write_text(text, "utf-8")
    base, problems = read_rules(rules)
    assert problems == []
    assert everything(base) == before
    new.write_text(text.replace("spurts:", "spurting:"), "utf-8")
    (slip,) = [problem for problem in everything(read_rules(rules)[0]) if problem.code == "unknown-name"]
    assert f"my-rules/{slip}" in GUIDE.replace("   ", "")
