"""What people say of one thing in many words: each sentence is heard as a careful reader would take it."""

from functools import cache

import pytest
import yaml

from diagnose.language import understand
from tests.language.helpers import HERE, own_lexicon, own_rules

TABLES = sorted((HERE / "told").glob("*.yaml"))


@cache
def rows() -> list[tuple[str, dict[str, set[str]], set[str]]]:
    """Return (sentence, levels that must be heard by finding, findings that may be heard besides) of all tables."""
    found = []
    for path in TABLES:
        for row in yaml.safe_load(path.read_text(encoding="utf-8")):
            wanted = {name: {said} if isinstance(said, str) else set(said) for name, said in row["heard"].items()}
            found.append((str(row["say"]), wanted, set(row.get("may", ()))))
    return found


def levels_heard(say: str) -> dict[str, set[str]]:
    """Return the levels heard of each finding."""
    found: dict[str, set[str]] = {}
    for said in understand(say, own_lexicon()).statements:
        if said.levels and said.name in own_rules().findings:
            found.setdefault(said.name, set()).update(said.levels)
    return found


@pytest.mark.parametrize(("say", "wanted", "optional"), [pytest.param(*row, id=row[0]) for row in rows()])
def test_a_sentence_is_heard_in_full_and_nothing_is_read_into_it(
    say: str, wanted: dict[str, set[str]], optional: set[str]
) -> None:
    """No finding is missed, none is added."""
    heard = {name: levels for name, levels in levels_heard(say).items() if name not in optional or name in wanted}
    assert heard == wanted
