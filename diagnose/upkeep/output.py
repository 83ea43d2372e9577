"""Answers on standard output: lines for people, one JSON object for programs."""

import json
import sys
from collections.abc import Iterable, Mapping

FORMAT = 1
"""The number that stands first in every JSON answer; within it fields may be added and none changes its meaning."""


def print_lines(lines: Iterable[str]) -> None:
    """Print lines."""
    sys.stdout.write("\n".join(lines) + "\n")


def print_json(answer: Mapping[str, object]) -> None:
    """Print an answer as one line of JSON, its format first."""
    sys.stdout.write(json.dumps({"format": FORMAT, **answer}, ensure_ascii=False) + "\n")
