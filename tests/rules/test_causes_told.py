"""Messages in people's own words, several for each cause: the cause a trainer would name is among the first three.

They were written before the phrases and weights that hear them; common practice, no source. How many were right at
first stands in DEVELOPERS.md.
"""

from pathlib import Path

import pytest
import yaml

from tests.rules.materials import FOLDER, Expectation, reader, rules

FIRST = 3
TABLES = sorted((FOLDER / "told").glob("*.yaml"))


def messages(path: Path) -> list[Expectation]:
    """Return what one table expects."""
    return [
        Expectation(row["say"], row.get("setting", "home"), "", tuple(row["expect"]), FIRST)
        for row in yaml.safe_load(path.read_text(encoding="utf-8"))
    ]


@pytest.mark.parametrize("path", TABLES, ids=lambda path: path.stem)
def test_the_cause_a_trainer_would_name_is_among_the_first_three(path: Path) -> None:
    """Whatever the words."""
    missed = []
    for expectation in messages(path):
        read = reader().read(expectation)
        beliefs = reader().assessor._weigher(read.case, read.known).beliefs()
        if not expectation.met(beliefs, rules()):
            missed.append((expectation.say, expectation.expect, read.known.findings))
    assert missed == []


def test_no_message_stands_twice() -> None:
    """Each is a case of its own, and there are several for each cause."""
    told = [one.say for path in TABLES for one in messages(path)]
    assert len(set(told)) == len(told) > 4 * len(rules().causes)
