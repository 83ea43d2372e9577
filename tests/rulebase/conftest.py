"""A small rule base without any problem, copied for each test that breaks it."""

import shutil
from pathlib import Path

import pytest

from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.loader import read_rules

GOOD = Path(__file__).parent / "good"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Return a copy of the good rule base that a test may change."""
    return Path(shutil.copytree(GOOD, tmp_path / "rules"))


@pytest.fixture(scope="session")
def good() -> RuleBase:
    """Return the good rule base as read."""
    base, problems = read_rules(GOOD)
    assert problems == []
    return base
