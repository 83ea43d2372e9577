"""A short transcript for the tests to change, and a function that puts it into a file."""

from collections.abc import Callable
from pathlib import Path

import pytest

TALK = """\
# A gusher

The bar opens in ten minutes.

- Setting: service
- Width: 80
- Date: 2026-05-04 06:50

## What it must show

- turn 1: first cause `grind_too_coarse`; step adjust
  `grind_finer`
- talk: questions 0

## The talk

> 18 g in, 44 g out in 16 s, sour, recipe is 18 in 36 out 27 s

Somebody knocks at the door.

> why
"""


@pytest.fixture
def talk() -> str:
    """Return the text of a transcript without answers; its parts stand at known lines."""
    return TALK


@pytest.fixture
def put(tmp_path: Path) -> Callable[..., Path]:
    """Return a function that writes a text into a file and returns its path."""

    def write(text: str, name: str = "talk.md") -> Path:
        path = tmp_path / name
        path.write_text(text, encoding="utf-8")
        return path

    return write
