"""Tries all mutants of the rule base and lists the survivors by file and line, with the kill rate of each kind.

Run by hand: ``python tests/rules/mutants.py [--sample N] [--jobs N] [--grades N] [--no-signs]``. `--grades` adds that
many mutants that only change the size of a grade, which are counted and need not be killed; `--no-signs` shows what
examples, cases, readings and checks notice without the table of signs.
"""

import argparse
import multiprocessing
import sys
from collections import Counter
from collections.abc import Sequence
from functools import partial
from pathlib import Path
from random import Random

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.rules.judging import judged, killed
from tests.rules.materials import materials
from tests.rules.mutation import Mutant, grade_mutants, mutants

_CHOSEN: list[Mutant] = []


def _judged(index: int, *, by_signs: bool) -> tuple[int, str]:
    return index, judged(_CHOSEN[index], by_signs=by_signs)


def survivors(chosen: Sequence[Mutant], verdicts: Sequence[str]) -> list[str]:
    """Return a line for each survivor, in file order."""
    alive = [(m, v) for m, v in zip(chosen, verdicts, strict=True) if not killed(v) and m.kind != "grade size"]
    return sorted(f"rules/{m.file}:{m.line}: {m.kind}: {m.what} ({v})" for m, v in alive)


def table(title: str, keys: Sequence[str], verdicts: Sequence[str]) -> list[str]:
    """Return kill rates by key: of all, and of those that moved some posterior; then what killed how many."""
    lines = [f"{title:24} {'mutants':>7} {'killed':>7} {'of seen':>7}  by"]
    for key in sorted(set(keys)):
        found = Counter(verdict for own, verdict in zip(keys, verdicts, strict=True) if own == key)
        dead = sum(count for verdict, count in found.items() if killed(verdict))
        reached = found.total() - found["not reached"]
        by = ", ".join(f"{verdict} {count}" for verdict, count in found.most_common())
        rates = f"{dead / found.total():7.1%} {dead / max(reached, 1):7.1%}"
        lines.append(f"{key or '(none)':24} {found.total():7} {rates}  {by}")
    return lines


def main(arguments: Sequence[str]) -> None:
    """Try the mutants and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sample", type=int, default=0)
    parser.add_argument("--grades", type=int, default=0)
    parser.add_argument("--jobs", type=int, default=1)
    parser.add_argument("--no-signs", action="store_true")
    given = parser.parse_args(arguments)
    every = mutants()
    _CHOSEN.extend(Random(1).sample(every, given.sample) if given.sample else every)
    sizes = list(grade_mutants())
    _CHOSEN.extend(Random(2).sample(sizes, min(given.grades, len(sizes))))
    materials()  # read once, before the work is divided
    with multiprocessing.get_context("fork").Pool(given.jobs) as pool:
        judge = partial(_judged, by_signs=not given.no_signs)
        found = dict(pool.imap_unordered(judge, range(len(_CHOSEN)), chunksize=20))
    verdicts = [found[index] for index in range(len(_CHOSEN))]
    weights = [m.kind if m.grade == "" else f"{m.kind}, {m.grade.removesuffix(' against')}" for m in _CHOSEN]
    causes = [Path(m.file).stem for m in _CHOSEN]
    lines = [*survivors(_CHOSEN, verdicts), "", *table("kind", [m.kind for m in _CHOSEN], verdicts)]
    lines += ["", *table("kind and grade", weights, verdicts), "", *table("file", causes, verdicts)]
    sys.stdout.write("\n".join(lines) + "\n")


if __name__ == "__main__":
    main(sys.argv[1:])
