"""How long the command takes to start: quick help against the bare interpreter, a first answer against bare imports.

Run by hand on a quiet machine: ``python tests/benchmarks/startup.py [RUNS]``. Budgets: ``--help`` 3 times the bare
interpreter, the first answer in a pipe 1.5 times the imports of the four libraries. Runs alternate, so that a busy
moment meets both sides. The parts of a first answer are timed within one process, each median of five processes.
"""

import subprocess
import sys
import time
from statistics import median

LIBRARIES = "import durable_rules_engine, pydantic, rapidfuzz, yaml"
LINE = "18 g in, 44 g out in 16 s, sour, my recipe is 18 in 36 out 27 s\n"
COMMAND = ["-m", "diagnose", "--no-log"]
PARTS = f"""
import time; marks = [time.perf_counter()]
def done(): marks.append(time.perf_counter())
{LIBRARIES}; done()
from diagnose.cli import main
from diagnose.conversation import Conversation
from diagnose.conversation.assess import Assessor
from diagnose.language import Lexicon
from diagnose.rulebase.loader import load
import diagnose.terminal.plain; done()
base = load(); done()
Lexicon.from_rules(base); done()
Assessor(base); done()
talk = Conversation(rules=base); start = time.perf_counter()
talk.say({LINE!r}); end = time.perf_counter()
print(*(1000 * (b - a) for a, b in zip(marks, marks[1:])), 1000 * (end - start))
"""
NAMES = ("libraries", "own modules", "reading rules", "lexicon", "compiling", "answering")


def seconds(arguments: list[str], typed: str = "") -> float:
    """Return the wall time of one run of the interpreter."""
    start = time.perf_counter()
    subprocess.run([sys.executable, *arguments], input=typed, capture_output=True, text=True, check=True)
    return time.perf_counter() - start


def compare(what: str, ours: tuple[list[str], str], bare: list[str], budget: float, runs: int) -> None:
    """Print the medians of alternating runs, their ratio and the budget."""
    seconds(*ours)
    pairs = [(seconds(*ours), seconds(bare)) for _ in range(runs)]
    mine, plain = (1000 * median(side) for side in zip(*pairs, strict=True))
    verdict = "met" if mine <= budget * plain else "MISSED"
    print(f"{what}: {mine:.0f} ms against {plain:.0f} ms, {mine / plain:.2f} times, budget {budget:g}: {verdict}")  # noqa: T201


def parts(runs: int = 5) -> None:
    """Print what a first answer is made of."""
    found = []
    for _ in range(runs):
        done = subprocess.run([sys.executable, "-c", PARTS], capture_output=True, text=True, check=True)
        found.append([float(number) for number in done.stdout.split()])
    items = (f"{name} {median(column):.0f}" for name, column in zip(NAMES, zip(*found, strict=True), strict=True))
    print(f"parts of a first answer, ms: {', '.join(items)}")  # noqa: T201


def main() -> None:
    """Print the figures."""
    runs = int(sys.argv[1]) if len(sys.argv) > 1 else 15
    compare("--help", (["-m", "diagnose", "--help"], ""), ["-c", "pass"], 3.0, runs)
    compare("first answer in a pipe", (COMMAND, LINE), ["-c", LIBRARIES], 1.5, runs)
    parts()


if __name__ == "__main__":
    main()
