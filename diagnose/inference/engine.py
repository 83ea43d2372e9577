"""The forward-chaining engine, behind a surface on which only forms it handles correctly can be written.

The compiled module ``durable_rules_engine`` is imported here and nowhere else. It matches correctly inside a narrow
subset of its language; outside it there are crashes, endless loops and silent wrong results. So callers write
`EngineRule` values, and what those cannot say is done elsewhere.

**What a rule can say.** All of 1 to 16 patterns hold. A pattern asks for one `kind` of fact and compares properties
of that fact with constants. That is enough:

- alternatives ("or", "any") are split by the compiler into one rule for each;
- absence ("not") is known once a stratum has finished; the next run gets it as a fact of its own;
- comparing two facts, and arithmetic, is done in Python beforehand, and the result asserted as a fact.

**Meaning.** A test holds if the fact has the property, its value is of the constant's type (text or number) and the
comparison is true; so ``!=`` holds neither for a missing property nor for a value of the other type. Every pattern is
matched on its own: one fact may serve several patterns of a rule. A rule fires once for each way of filling all its
patterns. Their number is the product of the facts that match each pattern, and the engine forms all of them before
it hands out the first, so a pattern should name what it means.

**Order.** While several rules can fire, the one that stands first in the set goes first. The whole sequence depends
on the rules and the set of facts, never on the order in which the facts are given, the hash seed or the locale.

**What the engine is given.** Whole numbers only: kinds and properties by number, values as their rank among the
constants they are compared with, which leaves every comparison as it was. The engine reads decimals by the locale of
the process (where the comma is the decimal sign, 9.3 is read as 9), reads exponents incompletely and keeps the
length of a text in 16 bits; ranks are beyond all of that. Facts may therefore hold any text and any finite number.
"""

import itertools
import json
import weakref
from collections.abc import Callable, Iterable, Sequence
from types import MappingProxyType, TracebackType
from typing import Protocol, Self, cast

from diagnose.errors import EngineFault, EngineUnavailable
from diagnose.inference.engine_forms import (
    RESERVED,
    EngineRule,
    Fact,
    FactValue,
    Pattern,
    Scale,
    Test,
    UnsafeForm,
    conditions,
    sort_key,
    unsafe,
    value_fault,
)

__all__ = ["EngineRule", "Fact", "FactValue", "OnFire", "Pattern", "RuleSet", "Test", "UnsafeForm", "unsafe"]

OnFire = Callable[[str, tuple[Fact, ...]], Iterable[Fact]]

_SESSION = "s"
_BOOT = "~boot"
_SEEN_BEFORE = 2  # what assert_fact returns for an id it knows
_OPERATORS = {"!=": "$neq", "<": "$lt", "<=": "$lte", ">": "$gt", ">=": "$gte"}
_set_numbers = itertools.count(1)

_FactKey = tuple[tuple[str, bool, tuple[str, float]], ...]


class _Encoding:
    """How the rules and facts of one set are written for the engine: short names and ranks, nothing else."""

    def __init__(self, rules: Sequence[EngineRule]) -> None:
        self.names = [rule.name for rule in rules]
        patterns = [pattern for rule in rules for pattern in rule.patterns]
        self._kinds = {kind: number for number, kind in enumerate(sorted({p.kind for p in patterns}))}
        constants: dict[str, dict[tuple[str, bool], list[FactValue]]] = {kind: {} for kind in self._kinds}
        for pattern in patterns:
            for test in pattern.tests:
                constants[pattern.kind].setdefault(test.column, []).append(test.value)
        self._scales = {
            kind: {prop: (f"p{n}", Scale(values)) for n, (prop, values) in enumerate(sorted(props.items()))}
            for kind, props in constants.items()
        }

    def rules(self, rules: Sequence[EngineRule]) -> str:
        """Return the set in the engine's language: rule r0, r1, ... of patterns m0, m1, ..."""
        text = {
            f"r{n}": {"all": [{f"m{k}": self._pattern(p)} for k, p in enumerate(rule.patterns)], "dist": 0}
            for n, rule in enumerate(rules)
        }
        return json.dumps(text, separators=(",", ":"))

    def _pattern(self, pattern: Pattern) -> dict[str, object]:
        """Return one flat conjunction, the kind first, one comparison in each member."""
        members: list[dict[str, object]] = [{"kind": self._kinds[pattern.kind]}]
        for test in conditions(pattern):
            prop, scale = self._scales[pattern.kind][test.column]
            rank = scale.rank(test.value)
            members.append({_OPERATORS[test.op]: {prop: rank}} if test.op in _OPERATORS else {prop: rank})
        return {"$and": members}

    def fact(self, number: int, fact: Fact) -> str:
        """Return the fact with the properties that some rule looks at; nothing if no rule looks at its kind."""
        kind = str(fact["kind"])
        if kind not in self._kinds:
            return ""
        scales = self._scales[kind]
        text: dict[str, object] = {"sid": _SESSION, "id": str(number), "kind": self._kinds[kind]}
        for name, value in fact.items():
            column = (name, isinstance(value, str))
            if column in scales:
                prop, scale = scales[column]
                text[prop] = scale.rank(value)
        return json.dumps(text, separators=(",", ":"))


class _Engine(Protocol):
    """The calls of the compiled module that are used; all others, the batch calls above all, are left alone."""

    error: type[Exception]

    def create_ruleset(self, name: str, rules: str, /) -> int: ...
    def delete_ruleset(self, handle: int, /) -> None: ...
    def assert_fact(self, handle: int, fact: str, /) -> tuple[int, int]: ...
    def start_action_for_state(self, handle: int, state: int, /) -> tuple[str, str] | None: ...
    def complete_and_start_action(self, handle: int, state: int, /) -> str | None: ...
    def delete_state(self, handle: int, session: str, /) -> None: ...


def _load() -> _Engine:
    """Import the compiled module, or say how to get it."""
    try:
        import durable_rules_engine
    except ImportError as error:
        raise EngineUnavailable(
            f"The rule engine cannot be imported on this Python ({error}).\n"
            "It is compiled when it is installed: have a C compiler and the Python headers ready\n"
            "(on Debian: apt install build-essential python3-dev), then install it anew:\n"
            "  CPPFLAGS=-DPyEval_CallObject=PyObject_CallObject "
            "pip install --force-reinstall --no-binary durable-rules durable-rules",
        ) from error
    return cast("_Engine", durable_rules_engine)


def _checked(fact: Fact) -> Fact:
    """Return a read-only copy with numbers as floats; raise EngineFault for what no fact can hold."""
    for name, value in fact.items():
        fault = value_fault(value)
        if not isinstance(name, str) or not name or name in RESERVED:
            fault = f"the property {name!r} belongs to the engine", "Name it otherwise."
        if fault:
            raise EngineFault(f"The fact {dict(fact)!r} cannot be asserted: {fault[0]}. {fault[1]}")
    kind = fact.get("kind")
    if not isinstance(kind, str) or not kind or kind.startswith("~"):
        raise EngineFault(f"The fact {dict(fact)!r} needs a kind: a text that does not start with '~'.")
    return MappingProxyType({name: v if isinstance(v, str) else v + 0.0 for name, v in fact.items()})


def _fact_key(fact: Fact) -> _FactKey:
    """Return what makes two facts one, comparable between any two facts."""
    return tuple((name, isinstance(fact[name], str), sort_key(fact[name])) for name in sorted(fact))


class _Session:
    """One run of one set: the facts it knows and the calls that drive the engine through it."""

    def __init__(self, engine: _Engine, handle: int, encoding: _Encoding) -> None:
        self._engine = engine
        self._handle = handle
        self._encoding = encoding
        self._known: set[_FactKey] = set()
        self._facts: list[Fact] = [{"kind": _BOOT}]

    def run(self, facts: Iterable[Fact], on_fire: OnFire, max_firings: int) -> int:
        """Assert, fire, assert what was derived, until nothing fires; see `RuleSet.run`."""
        checked = [_checked(fact) for fact in facts]
        state = self._open()
        try:
            self._assert(checked)
            begun = self._engine.start_action_for_state(self._handle, state)
            message = begun[1] if begun else None
            firings = 0
            while message:
                if firings == max_firings:
                    raise EngineFault(
                        f"Rules still fire after {max_firings} firings. Look for rules feeding each other."
                    )
                firings += 1
                name, matched = self._firing(message)
                self._assert([_checked(fact) for fact in on_fire(name, matched)])
                message = self._engine.complete_and_start_action(self._handle, state)
            return firings
        finally:
            self._engine.delete_state(self._handle, _SESSION)

    def _open(self) -> int:
        """Start the session by letting the driver's own rule fire, without which it could not be deleted."""
        code, state = self._engine.assert_fact(self._handle, self._encoding.fact(0, self._facts[0]))
        if code or not self._engine.start_action_for_state(self._handle, state):
            raise EngineFault(f"The engine did not start a session (code {code}). Make a new rule set.")
        self._engine.complete_and_start_action(self._handle, state)
        return state

    def _assert(self, facts: Iterable[Fact]) -> None:
        """Hand new facts to the engine in canonical order, whatever order they came in."""
        for key, fact in sorted(((_fact_key(fact), fact) for fact in facts), key=lambda pair: pair[0]):
            if key in self._known:
                continue
            self._known.add(key)
            text = self._encoding.fact(len(self._facts), fact)
            self._facts.append(fact)
            if text and self._engine.assert_fact(self._handle, text)[0] == _SEEN_BEFORE:
                raise EngineFault(
                    f"The engine takes fact {len(self._facts) - 1} for an earlier one. Assert fewer facts."
                )

    def _firing(self, message: str) -> tuple[str, tuple[Fact, ...]]:
        """Return the rule's name and the facts in pattern order from the engine's ``{"r1":{"m0":{"id":"2"}}}``."""
        ((rule, frame),) = json.loads(message).items()
        facts = tuple(self._facts[int(frame[f"m{n}"]["id"])] for n in range(len(frame)))
        return self._encoding.names[int(rule[1:])], facts


class RuleSet:
    """A set of rules, compiled once and run as often as wanted. No run leaves anything behind.

    It holds memory of the engine's until it is closed: by `close`, by leaving a ``with`` block, or when it is
    collected. One set runs once at a time; several sets do not know of each other.
    """

    def __init__(self, rules: Iterable[EngineRule]) -> None:
        """Compile `rules`. Raise EngineFault with every unsafe form, EngineUnavailable without the engine."""
        given = tuple(rules)
        forms = unsafe(given)
        if forms:
            raise EngineFault("The rules hold forms the engine cannot be trusted with:\n" + "\n".join(map(str, forms)))
        # The engine must have fired once before a session can be deleted, so a rule of our own comes first.
        self._rules = (EngineRule(_BOOT, (Pattern(_BOOT),)), *given)
        self._encoding = _Encoding(self._rules)
        self._engine = _load()
        try:
            self._handle = self._engine.create_ruleset(f"set{next(_set_numbers)}", self._encoding.rules(self._rules))
        except self._engine.error as error:
            raise EngineFault(f"The engine refused the rules: {error}. Report this with the rule base.") from error
        self._delete = weakref.finalize(self, self._engine.delete_ruleset, self._handle)
        self._running = False

    def __enter__(self) -> Self:
        """Return the set itself."""
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        """Close the set."""
        self.close()

    def close(self) -> None:
        """Give back the engine's memory; closing twice is harmless, closing from `on_fire` raises EngineFault."""
        if self._running:
            raise EngineFault("The rule set is running: close it after `run` has returned.")
        self._delete()

    def run(self, facts: Iterable[Fact], on_fire: OnFire, *, max_firings: int = 10_000) -> int:
        """Fire every rule that `facts`, and the facts derived from them, let fire; return the number of firings.

        `on_fire` gets the rule's name and the matched facts in the order of its patterns (read-only, numbers as
        floats) and returns the facts it derives. A fact has a `kind` (text) and otherwise texts and finite numbers;
        the properties sid, id and _t are refused. Equal facts are one fact. What `on_fire` raises comes through,
        and the set can be run again. Raise EngineFault for a value no fact can hold, after `max_firings` firings,
        when the set is closed or already running.
        """
        if self._running or not self._delete.alive:
            state = "already running: use a second set" if self._running else "closed: make a new one"
            raise EngineFault(f"The rule set is {state}.")
        self._running = True
        try:
            return _Session(self._engine, self._handle, self._encoding).run(facts, on_fire, max_firings)
        except self._engine.error as error:
            raise EngineFault(f"The engine failed: {error}. Report this with the rule base and the facts.") from error
        finally:
            self._running = False
