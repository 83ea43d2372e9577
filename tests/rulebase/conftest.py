"""A small rule base without any problem, copied for each test that breaks it."""

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.loader import read_rules

GOOD = Path(__file__).parent / "good"

Edit = Callable[[str, str, str], None]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Return a copy of the good rule base that a test may change."""
    return Path(shutil.copytree(GOOD, tmp_path / "rules"))


@pytest.fixture
def edit(folder: Path) -> Edit:
    """Return a function that replaces the one place of `old` in a file of the copy, or writes it anew if `old` is ""."""

    def change(file: str, old: str, new: str) -> None:
        path = folder / file
        text = path.read_text(encoding="utf-8") if path.exists() else ""
        assert not old or text.count(old) == 1
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text.replace(old, new) if old else new, encoding="utf-8")

    return change


@pytest.fixture(scope="session")
def good() -> RuleBase:
    """Return the good rule base as read."""
    base, problems = read_rules(GOOD)
    assert problems == []
    return base
