"""A talk killed between two lines loses no shot it has answered."""

import os
import random
import signal
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

import pytest

from diagnose import Conversation
from diagnose.logbook import Logbook
from diagnose.rulebase.base import RuleBase

Clock = Callable[[], datetime]
KILLS = 50
LINES = ["18 g in, 36 g out in 20 s, recipe 18 in 36 out 27 s", "24 s, 36 out", "26 s, 36 out", "27 s, 36 out"]


def talking(rules: RuleBase, path: Path, clock: Clock, told: int) -> None:
    """Hold a talk that writes one byte for every line answered, until it is killed."""
    try:
        chat = Conversation(rules=rules, log=path, setting="service", clock=clock)
        for line in LINES * 50:
            chat.say(line)
            os.write(told, b".")
    finally:
        os._exit(0)  # never return into the test runner this process was split from


@pytest.mark.slow
def test_fifty_kills_lose_no_answered_shot(rules: RuleBase, clock: Clock, tmp_path: Path) -> None:
    """SIGKILL at any moment between two lines or inside one: every answered shot is in the log, which stays whole."""
    rng = random.Random(8)
    path = tmp_path / "log.sqlite3"
    answered = 0
    for _ in range(KILLS):
        reading, writing = os.pipe()
        child = os.fork()
        if child == 0:
            os.close(reading)
            talking(rules, path, clock, writing)
        os.close(writing)
        for _ in range(rng.randint(1, 3)):
            answered += len(os.read(reading, 1))
        if rng.random() < 0.5:
            os.sched_yield()
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        while more := os.read(reading, 64):
            answered += len(more)
        os.close(reading)
    with Logbook.open(path, clock) as book:
        kept = book.shots(limit=100_000)
    assert answered >= KILLS
    assert len(kept) >= answered
