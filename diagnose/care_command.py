"""What ``diagnose care``, ``care done``, ``care list`` and ``care water`` do.

Each function prints its answer and returns the exit code. All raise LogError where the log cannot be used, and
RuleBaseError where ``care.yaml`` cannot be read.
"""

import os
import sys
from argparse import Namespace
from collections.abc import Callable, Iterable
from contextlib import closing, nullcontext
from dataclasses import asdict
from datetime import UTC, date, datetime, time
from pathlib import Path

from diagnose.errors import DiagnoseError
from diagnose.logbook import Logbook
from diagnose.model import Setting
from diagnose.rulebase.location import rules_folder
from diagnose.upkeep import saying
from diagnose.upkeep.output import print_json, print_lines
from diagnose.upkeep.places import log_place, reading
from diagnose.upkeep.plan import CarePlan, read_care, text
from diagnose.upkeep.standing import Standing, care_findings, standings
from diagnose.upkeep.water import ALKALINITY, CAPACITY, HARDNESS, USE, known_water, read_number, remember_water

OK = 0
_TOLD = {"hardness": HARDNESS, "alkalinity": ALKALINITY, "litres": USE, "filter_litres": CAPACITY}

Clock = Callable[[], datetime]


def run(options: Namespace, rules: str | Path | None = None, clock: Clock | None = None) -> int:
    """Do what ``diagnose care [ACTION]`` asks for; `options` are the parsed arguments."""
    if getattr(options, "no_log", False):
        raise DiagnoseError("Care is read from the log and written to it: leave --no-log away.")
    plan = read_care(rules_folder(rules))
    path = log_place(getattr(options, "log", None), os.environ, sys.platform)
    command = _Command(plan, path, options, clock or (lambda: datetime.now(UTC).astimezone()))
    actions = {"done": command.done, "list": command.list_all, "water": command.water}
    return actions.get(options.action, command.due)()


class _Command:
    """One command about one log."""

    def __init__(self, plan: CarePlan, path: Path, options: Namespace, clock: Clock) -> None:
        self.plan = plan
        self.path = path
        self.options = options
        self.clock = clock
        self.now = clock()
        self.setting: Setting = getattr(options, "setting", "home")
        self.as_json: bool = getattr(options, "json", False)

    def due(self) -> int:
        """Print what is overdue, then the rest."""
        with self._reading() as book:
            found = standings(self.plan, book, self.setting, self.now)
            water = known_water(book)
        if self.as_json:
            self._print_standings(found)
        else:
            print_lines(saying.due_lines(self.plan, found, self.setting, self.now.date(), water))
        return OK

    def list_all(self) -> int:
        """Print every item in the order of the plan with its interval and when it was last done."""
        with self._reading() as book:
            by_name = {each.item: each for each in standings(self.plan, book, self.setting, self.now)}
        found = [by_name[name] for name in self.plan.items]
        if self.as_json:
            self._print_standings(found)
        else:
            print_lines(saying.table(self.plan, found, self.setting))
        return OK

    def done(self) -> int:
        """Write down that items were done; all of them or, if one is unknown, none."""
        names = list(dict.fromkeys(self.options.item))
        for name in names:
            if name not in self.plan.items:
                near = self.plan.nearest(name)
                todo = f"Did you mean {' or '.join(near)}?" if near else "`diagnose care list` names them all."
                raise DiagnoseError(f"There is nothing called {name!r} to look after. {todo}")
        moment = _moment(self.options.on, self.now)
        with closing(Logbook.open(self.path, self.clock)) as book:
            rows = {name: book.add_care(name, moment, self.options.note) for name in names}
            found = [each for each in standings(self.plan, book, self.setting, self.now) if each.item in rows]
        if self.as_json:
            written = [{"item": name, "row": row, "done": moment.isoformat()} for name, row in rows.items()]
            print_json({"written": written, "cautions": self._afterwards(names)})
        else:
            print_lines(saying.written_lines(self.plan, found, rows, moment.date()))
        return OK

    def _afterwards(self, names: Iterable[str]) -> list[dict[str, str]]:
        notices = dict.fromkeys(notice for name in names for notice in self.plan.items[name].afterwards)
        return [{"id": notice, "text": self.plan.notices[notice]} for notice in notices]

    def water(self) -> int:
        """Keep what was told of the water, and print all that is known of it."""
        typed = {name: getattr(self.options, option) for option, name in _TOLD.items()}
        told = {name: read_number(name, value) for name, value in typed.items() if value is not None}
        if told:
            with closing(Logbook.open(self.path, self.clock)) as book:
                remember_water(book, told)
        with self._reading() as book:
            water = known_water(book)
        if self.as_json:
            answer = {
                **asdict(water),
                "carbonate_hardness": water.carbonate_hardness,
                "scale_g_per_day": water.scale_g(1),
            }
            print_json({"water": answer})
        else:
            print_lines(saying.water_lines(water))
        return OK

    def _reading(self) -> "closing[Logbook] | nullcontext[None]":
        return reading(self.path, self.clock)

    def _print_standings(self, found: Iterable[Standing]) -> None:
        found = list(found)
        items = [self._plain(each) for each in found]
        answer = {"setting": self.setting, "date": str(self.now.date()), "items": items}
        print_json({**answer, "findings": care_findings(found)})

    def _plain(self, each: Standing) -> dict[str, object]:
        """Return a standing as plain values, with the texts that belong to it."""
        item = self.plan.items[each.item]
        every = item.every.at(self.setting)
        cautions = dict.fromkeys((*item.cautions, *item.afterwards))
        return {
            "id": each.item,
            "name": text(item.name),
            "state": each.state,
            "share": round(each.share, 3) if each.reaches else None,
            "last_done": None if each.last is None else each.last.what.done.isoformat(),
            "note": None if each.last is None else each.last.what.note or None,
            "row": None if each.last is None else each.last.id,
            "every": every.model_dump(),
            "passed": [asdict(reach) for reach in each.reaches],
            "due_on": None if each.due_on is None else str(each.due_on),
            "only_with": None if each.missing is None else each.missing.model_dump(by_alias=True),
            "scale_bound_g": each.scale_g,
            "finding": None if each.finding is None else {"id": each.finding, "level": each.level},
            "why": text(item.why),
            "how": text(item.how),
            "cautions": [{"id": name, "text": self.plan.notices[name]} for name in cautions],
            "source": item.source,
        }


def _moment(on: str | None, now: datetime) -> datetime:
    """Return when it was done: now, or noon of an earlier day. Raises DiagnoseError for no day, or one to come."""
    if on is None or on == str(now.date()):
        return now
    try:
        day = date.fromisoformat(on)
    except ValueError:
        raise DiagnoseError(f"{on!r} is not a day. Write it as {now.date()} for today.") from None
    if day > now.date():
        raise DiagnoseError(f"{day} is still to come. Write down what was done once it is done.")
    return datetime.combine(day, time(12), now.tzinfo)
