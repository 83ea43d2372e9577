"""The rules the engine can be given, and the check that it handles them correctly.

What can be written here is a conjunction of flat patterns with constants, nothing else (`engine` says why that is
enough). Even so a rule can hold values the engine misreads, and a set can be too large for its fixed tables: `unsafe`
finds both. The limits are those of durable_rules 2.0.28, read from its C source (``rules.h``, ``state.h``,
``events.c``, ``rete.c``), with room to spare where passing one is a crash or a hang and not an error.
"""

import math
import operator
from bisect import bisect_left
from collections import defaultdict
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal

FactValue = str | int | float
Fact = Mapping[str, FactValue]
Comparison = Literal["==", "!=", "<", "<=", ">", ">="]

MAX_PATTERNS = 16  # messages in one frame: 16
MAX_RULES = 4095  # actions: 4096, of which one is the driver's own
MAX_SAME_END = 200  # patterns listed behind one condition: 256, and writing goes on beyond
MAX_SIBLINGS = 400  # hash table of the conditions under one parent: 512, and a search in a full one never ends
MAX_PENDING = 50  # stack of the conditions a fact has yet to follow: 64
MAX_PROPERTIES = 240  # properties of one message: 254, of which three are the driver's own
MAX_TEXT = 30_000  # bytes; the engine keeps lengths in 16 bits
SMALLEST, LARGEST, LARGEST_INT = 1e-4, 1e15, 2**53

RESERVED = frozenset({"sid", "id", "_t"})
COMPARE: dict[Comparison, Callable[[int, int], bool]] = {
    "==": operator.eq,
    "!=": operator.ne,
    "<": operator.lt,
    "<=": operator.le,
    ">": operator.gt,
    ">=": operator.ge,
}


@dataclass(frozen=True, slots=True)
class Test:
    """One property compared with one constant; texts only with ``==`` and ``!=``."""

    __test__ = False  # not a test case, whatever a test runner makes of the name

    prop: str
    op: Comparison
    value: FactValue

    @property
    def column(self) -> tuple[str, bool]:
        """Return the property and whether it is compared as text: a name used both ways is two columns."""
        return self.prop, isinstance(self.value, str)


@dataclass(frozen=True, slots=True)
class Pattern:
    """A fact of this kind for which every test holds."""

    kind: str
    tests: tuple[Test, ...] = ()


@dataclass(frozen=True, slots=True)
class EngineRule:
    """All patterns together; the name is handed to `on_fire` and is unique in its set."""

    name: str
    patterns: tuple[Pattern, ...]


@dataclass(frozen=True, slots=True)
class UnsafeForm:
    """One thing in one rule the engine cannot be trusted with, and what to write instead."""

    rule: str
    what: str
    todo: str

    def __str__(self) -> str:
        """Return the three parts as one line."""
        return f"rule {self.rule!r}: {self.what}. {self.todo}"


def unsafe(rules: Sequence[EngineRule]) -> list[UnsafeForm]:
    """Return every unsafe form in `rules`, in their order; none means that `RuleSet` will take them.

    The limits of the set as a whole are looked at once each rule on its own is right.
    """
    found = [UnsafeForm(rule.name, what, todo) for rule in rules for what, todo in _rule_faults(rule)]
    seen: set[str] = set()
    for rule in rules:
        if rule.name in seen:
            found.append(UnsafeForm(rule.name, "two rules have this name", "Give each rule a name of its own."))
        seen.add(rule.name)
    if len(rules) > MAX_RULES:
        what = f"it is one of {len(rules)} rules, the engine takes {MAX_RULES}"
        found.append(UnsafeForm(rules[MAX_RULES].name, what, "Let one rule emit several facts, or use two sets."))
    return found or list(_set_faults(rules))


def _rule_faults(rule: EngineRule) -> Iterator[tuple[str, str]]:
    """Yield what and todo for each fault that shows in the rule alone."""
    if not rule.name or rule.name.startswith("~"):
        yield f"the name {rule.name!r} is empty or reserved", "Start it with anything but '~'."
    if not 1 <= len(rule.patterns) <= MAX_PATTERNS:
        todo = "Join findings in an intermediate fact." if rule.patterns else "Say what it needs."
        yield f"it has {len(rule.patterns)} patterns, the engine takes 1 to {MAX_PATTERNS}", todo
    for pattern in rule.patterns:
        if not pattern.kind or pattern.kind.startswith("~"):
            yield f"the kind {pattern.kind!r} is empty or reserved", "Start it with anything but '~'."
        for test in pattern.tests:
            yield from _test_faults(test)


def _test_faults(test: Test) -> Iterator[tuple[str, str]]:
    """Yield what and todo for each fault of one comparison."""
    if test.prop == "kind":
        yield "it tests the property 'kind'", "Put the kind into Pattern.kind, with == only."
    elif not test.prop or test.prop in RESERVED:
        yield f"the property {test.prop!r} belongs to the engine", "Name it otherwise."
    if test.op not in COMPARE:
        yield f"{test.op!r} is no comparison", f"Use one of {' '.join(COMPARE)}."
    fault = value_fault(test.value) or _constant_fault(test.value)
    if fault:
        yield fault
    elif isinstance(test.value, str) and test.op not in {"==", "!="}:
        yield f"text is compared with {test.op}", "Compare text with == or != only, or assert a number."


def value_fault(value: object) -> tuple[str, str] | None:
    """Return what and todo if no fact can hold this value."""
    if isinstance(value, str):
        return None
    if isinstance(value, bool) or not isinstance(value, int | float):
        return (
            f"{value!r} is neither text nor a number",
            "Write 'yes' or 'no' for a truth value; leave out the unknown.",
        )
    if isinstance(value, int) and abs(value) > LARGEST_INT:
        return "a whole number is beyond 2**53", "Choose a unit in which it is smaller."
    if not math.isfinite(value):
        return f"{value!r} is not finite", "Leave the fact out, or assert one that says why there is no number."
    return None


def _constant_fault(value: FactValue) -> tuple[str, str] | None:
    """Return what and todo if a constant lies where only a slip puts it: a wrong unit, or prose for a name."""
    if isinstance(value, str):
        if len(value.encode(errors="surrogatepass")) > MAX_TEXT:
            return f"a text is longer than {MAX_TEXT} bytes", "Compare a shorter name for it."
    elif value and not SMALLEST <= abs(value) < LARGEST:
        return f"{value!r} is neither 0 nor in [{SMALLEST:g}, {LARGEST:g})", "Choose a unit that fits the number."
    return None


def conditions(pattern: Pattern) -> list[Test]:
    """Return the tests without repeats, as the engine gets them: equalities first, so that many rules share them."""
    return sorted(set(pattern.tests), key=lambda t: (t.op != "==", t.column, t.op, t.value))


@dataclass(slots=True)
class _Node:
    """One condition in the engine's tree: the patterns that end here and the conditions that follow."""

    rule: str = ""
    ends: int = 0
    children: dict[Test, "_Node"] = field(default_factory=lambda: defaultdict(_Node))


def _set_faults(rules: Sequence[EngineRule]) -> Iterator[UnsafeForm]:
    """Yield the faults that arise between rules, by building the tree the engine will build."""
    root = _Node()
    columns: dict[str, set[tuple[str, bool]]] = defaultdict(set)
    for rule in rules:
        for pattern in rule.patterns:
            node = root
            columns[pattern.kind].update(test.column for test in pattern.tests)
            for test in (Test("kind", "==", pattern.kind), *conditions(pattern)):
                node = node.children[test]
                node.rule = node.rule or rule.name
            node.ends += 1
    for top, child in root.children.items():
        tested = len(columns[str(top.value)])
        if tested > MAX_PROPERTIES:
            what = f"{tested} properties of its kind {top.value!r} are tested, the engine takes {MAX_PROPERTIES}"
            yield UnsafeForm(child.rule, what, "Use several kinds of fact.")
    waiting = [(root, 0)]
    while waiting:
        node, below = waiting.pop()
        yield from _node_faults(node)
        if len(node.children) <= MAX_SIBLINGS:
            pending = below + _most_at_once(node.children)
            if pending > MAX_PENDING:
                what = f"one fact can meet {pending} conditions at once, the engine takes {MAX_PENDING}"
                todo = "Sort the number into levels in Python and test the level with ==."
                yield UnsafeForm(next(child.rule for child in node.children.values()), what, todo)
                continue
            waiting += [(child, pending - 1) for child in node.children.values()]


def _node_faults(node: _Node) -> Iterator[UnsafeForm]:
    """Yield the limits passed behind one condition."""
    if node.ends > MAX_SAME_END:
        what = f"{node.ends} patterns are the same as one of its own, the engine takes {MAX_SAME_END}"
        yield UnsafeForm(node.rule, what, "Let one rule emit several facts.")
    if len(node.children) > MAX_SIBLINGS:
        first = next(child.rule for child in node.children.values())
        what = f"{len(node.children)} different conditions follow one condition, the engine takes {MAX_SIBLINGS}"
        yield UnsafeForm(first, what, "Use several kinds of fact.")


def _most_at_once(tests: Collection[Test]) -> int:
    """Return how many of these different tests one fact can pass: the sum over columns of the best single value."""
    columns: dict[tuple[str, bool], list[Test]] = defaultdict(list)
    for test in tests:
        columns[test.column].append(test)
    return sum(_most_for_one_value(group) for group in columns.values())


def _most_for_one_value(tests: list[Test]) -> int:
    """Return how many of these different tests of one column a single value can pass."""
    if all(test.op == "==" for test in tests):
        return 1
    scale = Scale(test.value for test in tests)
    ranked = [(COMPARE[test.op], scale.rank(test.value)) for test in tests]
    return max(sum(holds(rank, constant) for holds, constant in ranked) for rank in scale.ranks)


def sort_key(value: FactValue) -> tuple[str, float]:
    """Return a sort key for values of one type; it makes 17 and 17.0 one, and 0.0 and -0.0."""
    return (value, 0.0) if isinstance(value, str) else ("", value + 0.0)


class Scale:
    """The constants a property is compared with, and the rank of any value among them."""

    def __init__(self, constants: Iterable[FactValue]) -> None:
        """Rank `constants`, all texts or all numbers; `ranks` are all that can occur."""
        self._points = sorted({sort_key(constant) for constant in constants})
        self.ranks = range(2 * len(self._points) + 1)

    def rank(self, value: FactValue) -> int:
        """Return an odd number for a constant, an even one for a value between, below or above them."""
        key = sort_key(value)
        place = bisect_left(self._points, key)
        return 2 * place + (self._points[place : place + 1] == [key])
