"""Messages in people's own words, several for each cause: the cause a trainer would name is among the first three.

They were written before the phrases and weights that hear them; common practice, no source. How many were right at
first stands in DEVELOPERS.md.
"""

import pytest
import yaml

from tests.rules.materials import FOLDER, Expectation, reader, rules

FIRST = 3
TOLD = [
    Expectation(row["say"], row.get("setting", "home"), "", tuple(row["expect"]), FIRST)
    for path in sorted((FOLDER / "told").glob("*.yaml"))
    for row in yaml.safe_load(path.read_text(encoding="utf-8"))
]


@pytest.mark.parametrize("expectation", TOLD, ids=lambda one: one.say)
def test_the_cause_a_trainer_would_name_is_among_the_first_three(expectation: Expectation) -> None:
    """Whatever the words."""
    read = reader().read(expectation)
    beliefs = reader().assessor._weigher(read.case, read.known).beliefs()
    assert expectation.met(beliefs, rules()), read.known.findings


def test_no_message_stands_twice() -> None:
    """Each is a case of its own."""
    assert len({one.say for one in TOLD}) == len(TOLD)
