"""What a talk leaves in the log, and what it takes from it: recipe, kit, earlier shots.

A log that cannot be used never stops the talk: the fault is kept, said once, and the command line returns 4.
"""

from collections.abc import Callable, Mapping, Sequence
from datetime import UTC, datetime
from functools import partial
from itertools import pairwise
from pathlib import Path
from typing import TypeVar

from diagnose.conversation.assess import Assessment
from diagnose.errors import LogError
from diagnose.logbook import Adjustment, Care, Fact, Logbook, PulledShot
from diagnose.logbook.codec import same_label
from diagnose.logbook.contents import Entry, JsonValue
from diagnose.model import NextStep, Quantity, Setting, Statement, Verdict
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.location import rules_folder

Clock = Callable[[], datetime]
Shots = list[Mapping[str, Quantity]]
T = TypeVar("T")
RECIPE_KEY, KIT_KEY, ANEW_KEY = "recipe", "kit", "grind_since"
LOOKED_AT = 60  # shots of the log that may bear on the current one


class Memory:
    """The log of one talk. `fault` says why it could not be used; what could not be written waits for the next turn."""

    def __init__(self, base: RuleBase, path: Path | None, clock: Clock, coffee: str | None = None) -> None:
        """Open the log at `path`, or keep nothing where it is None. `coffee` labels the shots of this talk."""
        self.base, self.coffee = base, coffee
        self.fault: str | None = None
        self._book: Logbook | None = None
        self._shots: dict[int, int] = {}
        self._waiting: list[PulledShot] = []
        self._clock = clock
        self._earlier: list[Shots] = []
        self._read_for = 0
        self._adjustment: int | None = None
        if path is not None:
            self._book = self._tried(lambda: Logbook.open(path, clock), None)

    def _tried(self, action: Callable[[], T], otherwise: T) -> T:
        """Run one use of the log; a failure is remembered and the talk goes on."""
        try:
            return action()
        except LogError as error:
            self.fault = str(error)
            return otherwise

    def close(self) -> None:
        """Write what still waits, and let go of the log."""
        self._flush()
        if self._book is not None:
            self._book.close()

    # -- from the log

    def statements(self, setting: Setting) -> tuple[Statement, ...]:
        """Return what the log tells about recipe, kit and overdue care, as if said again at the beginning."""
        book = self._book
        nothing: dict[str, JsonValue] = {}
        facts = nothing if book is None else self._tried(book.facts, nothing)
        recipe, kit = facts.get(self._of_coffee(RECIPE_KEY)) or facts.get(RECIPE_KEY), facts.get(KIT_KEY)
        found = [
            Statement("measurement", f"recipe_{name}", "", quantity=quantity)
            for name, quantity in _quantities(recipe).items()
        ]
        for name, levels in kit.items() if isinstance(kit, Mapping) else ():
            known = self.base.findings.get(name)
            if known is not None and isinstance(levels, list) and set(levels) <= set(known.levels):
                found.append(Statement("observation", name, "", levels=tuple(levels)))
        return (*found, *self._care(setting))

    def _care(self, setting: Setting) -> list[Statement]:
        """Return which care the log knows to be overdue or done, as far as causes speak of it."""
        book = self._book
        nothing: list[Entry[Care]] = []
        if book is None or not self._tried(book.care, nothing):
            return []
        from diagnose.upkeep.plan import read_care
        from diagnose.upkeep.standing import Standing, care_findings, standings

        plan, now = read_care(rules_folder()), self._clock()
        none: list[Standing] = []
        levels = care_findings(self._tried(lambda: standings(plan, book, setting, now), none))
        known = ((name, level) for name, level in levels.items() if name in self.base.findings)
        return [Statement("observation", name, "", levels=(level,), source="derived") for name, level in known]

    def earlier_shots(self, current: int, *, anew: bool) -> list[Shots] | None:
        """Return the measures of the shots logged before the current one, a list from each new bag or kit to the next.

        None where no log is kept. `anew`: the current shot is the first of a new bag or kit. The log is read once for
        each shot, before that shot is written, so none counts twice.
        """
        book = self._book
        if book is None:
            return None
        if anew:
            self._tried(lambda: book.remember(self._of_coffee(ANEW_KEY), self._clock().isoformat()), 0)
        if anew or self._read_for != current:
            nobody: list[Entry[Fact]] = []
            nothing: list[Entry[PulledShot]] = []
            marks = [mark.at for mark in self._tried(lambda: book.history(self._of_coffee(ANEW_KEY)), nobody)]
            rows = self._tried(lambda: book.shots(self.coffee, limit=LOOKED_AT), nothing)
            rows = [row for row in rows if self.coffee is not None or row.what.coffee is None]
            ends = [datetime.min.replace(tzinfo=UTC), *marks, datetime.max.replace(tzinfo=UTC)]
            self._earlier = [
                [row.what.measures for row in rows if since <= row.at < until] for since, until in pairwise(ends)
            ]
            self._read_for = current
        return self._earlier

    # -- to the log

    def keep(self, assessment: Assessment, said: Sequence[Statement], text: str, step: str | None) -> None:
        """Write down the shots that `said` tells of, and recipe and kit where they changed.

        `step` is what was being tried with the shot, `text` the line as typed.
        """
        case, findings = assessment.case, self.base.findings
        told = {s.shot for s in said if s.shot and s.quantity is not None}
        for shot in case.shots:
            if shot.number in told:
                of_shot = assessment.findings.values() if shot.number == case.current else ()
                seen = tuple(finding for finding in of_shot if findings[finding.id].per_shot)
                told_now = PulledShot(shot.number, case.setting, self.coffee, shot.measures, seen, step, text)
                self._waiting.append(told_now)
        self._flush()
        if any(s.name.startswith("recipe_") for s in said):
            recipe: dict[str, JsonValue] = {name: _plain(quantity) for name, quantity in case.recipe.items()}
            self._remember(self._of_coffee(RECIPE_KEY), recipe)
        if any(s.name in findings and findings[s.name].context and s.levels for s in said):
            known = {name: list(seen.levels) for name, seen in case.observations.items() if findings[name].context}
            self._remember(KIT_KEY, known)

    def _of_coffee(self, key: str) -> str:
        """Return the key of a fact that each coffee has its own of."""
        return key if self.coffee is None else f"{key} {same_label(self.coffee)}"

    def _remember(self, key: str, value: JsonValue) -> None:
        book = self._book
        if book is not None:
            self._tried(lambda: book.remember(key, value), 0)

    def _flush(self) -> None:
        """Write the shots that wait, oldest first; the first that fails keeps the rest waiting too."""
        book = self._book
        while book is not None and self._waiting:
            written = self._tried(partial(self._write, book, self._waiting[0]), None)
            if written is None:
                return
            self._shots[self._waiting.pop(0).number] = written

    def _write(self, book: Logbook, row: PulledShot) -> int:
        """Write a shot, or put it in the place of what was told of the same shot before."""
        before = self._shots.get(row.number)
        return book.add_shot(row) if before is None else book.correct_shot(before, row)

    def advise(self, step: NextStep, dial: Quantity | None) -> None:
        """Write down the adjustment that was advised."""
        book = self._book
        if book is None or step.kind != "adjust":
            return
        amount = None if step.amount is None else (step.amount.low + step.amount.high) / 2
        unit = "" if step.amount is None else step.amount.unit
        row = Adjustment(step.id, amount, unit, dial.value if dial else None, None, step.expect)
        self._adjustment = self._tried(lambda: book.add_adjustment(row), None)

    def judged(self, verdict: Verdict | None) -> None:
        """Write down whether the last adjustment helped, as often as a later shot says more of it."""
        book, about = self._book, self._adjustment
        if book is not None and verdict is not None and about is not None:
            self._tried(lambda: book.add_verdict(verdict, about), 0)

    def withdraw(self, numbers: Sequence[int]) -> None:
        """Withdraw shots taken back by undo; the rows stay in the file."""
        for number in numbers:
            row, book = self._shots.pop(number, None), self._book
            if row is not None and book is not None:
                self._tried(partial(book.retract, row, "undo"), 0)

    def forget_talk(self) -> None:
        """Begin a new talk: shot numbers start again, the log stays as it is."""
        self._read_for = 0
        self._shots.clear()
        self._adjustment = None


def _plain(quantity: Quantity) -> dict[str, JsonValue]:
    return {"value": quantity.value, "unit": quantity.unit, "low": quantity.low, "high": quantity.high}


def _quantities(kept: JsonValue) -> dict[str, Quantity]:
    """Return the quantities kept under a key; anything of another form is passed over."""
    found: dict[str, Quantity] = {}
    for name, entry in kept.items() if isinstance(kept, Mapping) else ():
        if isinstance(entry, Mapping):
            value, unit = entry.get("value"), entry.get("unit")
            low, high = entry.get("low", value), entry.get("high", value)
            if isinstance(value, int | float) and isinstance(low, int | float) and isinstance(high, int | float):
                found[name] = Quantity(float(value), str(unit), float(low), float(high))
    return found
