"""How long a turn takes with the whole rule base: median and 95th percentile over invented openings and answers.

Run by hand on a quiet machine: ``python tests/benchmarks/turn_time.py [TALKS]``. The budget is 50 ms at p95.
"""

import random
import sys
import time
from statistics import median

from diagnose import Conversation
from diagnose.rulebase.loader import load

OPENINGS = [
    "18 g in, 44 g out in 16 s, sour, my recipe is 18 in 36 out 27 s",
    "my coffee is bitter",
    "weak and watery, no crema",
    "milk has big bubbles",
    "steam is weak lately",
    "chokes, only drips, since a new bag",
    "every coffee tastes of chlorine",
    "shots get faster through the rush",
    "water drips around the handle rim",
    "first shot of the day is sour",
]
ANSWERS = ["1", "2", "dont know", "3", "no change", "26 s, 36 out", "why"]


def main() -> None:
    """Print the figures."""
    rng, base = random.Random(4), load()
    times: list[float] = []
    for _ in range(int(sys.argv[1]) if len(sys.argv) > 1 else 40):
        talk = Conversation(rules=base, setting=rng.choice(("home", "service", "training")))
        for line in (rng.choice(OPENINGS), *rng.choices(ANSWERS, k=5)):
            start = time.perf_counter()
            talk.say(line)
            times.append((time.perf_counter() - start) * 1000)
    times.sort()
    print(f"{len(times)} turns: median {median(times):.0f} ms, p95 {times[int(0.95 * len(times))]:.0f} ms")  # noqa: T201


if __name__ == "__main__":
    main()
