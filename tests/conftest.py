"""Fixtures shared by all tests: the shipped rules, loaded once, and a clock that stands still."""

import os
from collections.abc import Callable
from datetime import UTC, datetime

import pytest
from hypothesis import settings

from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.loader import load

# The same draws in every run, so that what passes here passes elsewhere; `--hypothesis-profile=default` draws anew.
settings.register_profile("repeatable", derandomize=True)
settings.load_profile("repeatable")


@pytest.fixture(scope="session")
def rules() -> RuleBase:
    """Return the shipped rule base, or the one DIAGNOSE_RULES names, so that an edited copy can be tested too."""
    return load(os.environ.get("DIAGNOSE_RULES"))


@pytest.fixture(scope="session")
def clock() -> Callable[[], datetime]:
    """Return a clock that always shows the same morning."""
    return lambda: datetime(2026, 5, 4, 8, 30, tzinfo=UTC)
