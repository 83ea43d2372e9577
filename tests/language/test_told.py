"""What people say of one thing in many words: each sentence is heard as a careful reader would take it."""

from pathlib import Path

import pytest
import yaml

from diagnose.language import understand
from tests.language.helpers import HERE, own_lexicon, own_rules

TABLES = sorted((HERE / "told").glob("*.yaml"))


def levels_heard(say: str) -> dict[str, set[str]]:
    """Return the levels heard of each finding."""
    found: dict[str, set[str]] = {}
    for said in understand(say, own_lexicon()).statements:
        if said.levels and said.name in own_rules().findings:
            found.setdefault(said.name, set()).update(said.levels)
    return found


@pytest.mark.parametrize("path", TABLES, ids=lambda path: path.stem)
def test_each_sentence_is_heard_in_full_and_nothing_is_read_into_it(path: Path) -> None:
    """No finding is missed, none is added but those that `may` be heard besides."""
    wrong = []
    rows = yaml.safe_load(path.read_text(encoding="utf-8"))
    for row in rows:
        wanted = {name: {said} if isinstance(said, str) else set(said) for name, said in row["heard"].items()}
        heard = levels_heard(str(row["say"]))
        kept = {name: levels for name, levels in heard.items() if name in wanted or name not in row.get("may", ())}
        if kept != wanted:
            wrong.append((row["say"], wanted, heard))
    assert rows
    assert wrong == []
