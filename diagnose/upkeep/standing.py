"""How each thing to look after stands: what has passed since it was last done, against its interval.

What was never written down is not known, and never counts as overdue: silence is no evidence. Shots are those told
to the log, so there are rarely too many of them.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from math import ceil
from typing import Literal

from diagnose.logbook import Care, Entry, Logbook
from diagnose.model import Setting
from diagnose.rulebase.location import rules_folder
from diagnose.upkeep.plan import DONE, OVERDUE, CarePlan, Item, Kit, read_care
from diagnose.upkeep.water import WaterUse, known_water

KIT_KEY = "kit"
"""The fact under which a talk keeps what it knows of the kit: finding to its possible levels."""

State = Literal["overdue", "due", "not_known", "in_time", "unanswered", "not_here"]
ORDER: tuple[State, ...] = ("overdue", "due", "not_known", "unanswered", "in_time", "not_here")
"""`overdue` beyond the interval, `due` just at it, `unanswered` while it is not known whether the kit is one for it,
`not_here` where it is known not to be."""

Kind = Literal["days", "shots", "scale", "litres"]


@dataclass(frozen=True, slots=True)
class Reach:
    """What has passed since the last time (`since`) against what may pass (`every`), in days, shots, g or litres."""

    kind: Kind
    since: float
    every: float

    @property
    def share(self) -> float:
        """Return the part of the interval that has passed; 1 is due."""
        return self.since / self.every


@dataclass(frozen=True, slots=True)
class Standing:
    """How one item stands.

    `done_on` is the day of `last` where the clock is. `reaches` is empty where it was never written down; `missing` is
    the kit it waits for. `finding` is the finding it speaks to in a talk and `level` what it says there, None where it
    says nothing. `scale_g` is the most scale the water can have left since, in g, where that can be reckoned.
    """

    item: str
    state: State
    last: Entry[Care] | None = None
    done_on: date | None = None
    reaches: tuple[Reach, ...] = ()
    due_on: date | None = None
    missing: Kit | None = None
    scale_g: float | None = None
    finding: str | None = None
    level: str | None = None

    @property
    def share(self) -> float:
        """Return the largest part of an interval that has passed: whichever is further along."""
        return max((reach.share for reach in self.reaches), default=0.0)


def standings(plan: CarePlan, book: Logbook | None, setting: Setting, now: datetime) -> list[Standing]:
    """Return how everything stands, in the order of `ORDER`, the longest overdue first. Raises LogError.

    `book` None is a log in which nothing was written yet.
    """
    looker = _Looker(book, setting, now)
    found = [looker.standing(name, item) for name, item in plan.items.items()]
    return sorted(found, key=lambda each: (ORDER.index(each.state), -each.share))


def overdue(book: Logbook | None, setting: Setting, now: datetime, plan: CarePlan | None = None) -> list[Standing]:
    """Return what is overdue by the log, the longest overdue first; nothing of which no date is known.

    Each says in `finding` and `level` what it means to a talk, if anything. By the shipped plan (the key `finding` in
    ``care.yaml``): group_detergent and basket_soak speak to care_group, burrs and grinder_tablets to care_grinder,
    descaling to care_descaling, water_filter to care_filter; the others to none. `care_findings` joins them.
    Raises LogError, and RuleBaseError if `plan` is None and the installed one cannot be read.
    """
    plan = read_care(rules_folder()) if plan is None else plan
    return [each for each in standings(plan, book, setting, now) if each.state == "overdue"]


def care_findings(found: Iterable[Standing]) -> dict[str, str]:
    """Return the level of each care finding that the log can tell: ``overdue`` or ``done``.

    Where several items speak to one finding, the one done last decides: it is overdue only if all of them are. Items
    without a date say nothing.
    """
    levels: dict[str, str] = {}
    for each in found:
        if each.finding is not None and each.level is not None and levels.get(each.finding) != DONE:
            levels[each.finding] = each.level
    return levels


class _Looker:
    """Compares items with one log at one moment."""

    def __init__(self, book: Logbook | None, setting: Setting, now: datetime) -> None:
        self.book = book
        self.setting: Setting = setting
        self.now = now
        self.water = known_water(book)
        self.kit = _kit(book)

    def standing(self, name: str, item: Item) -> Standing:
        """Return how one item stands."""
        given = [] if self.book is None else self.book.care(name)
        missing, state = self._missing(item)
        if not given:
            return Standing(name, state or "not_known", missing=missing)
        last = given[-1]
        done_on = self._day(last.what.done)
        if state is not None:
            return Standing(name, state, last, done_on, missing=missing)
        days = max((self.now.date() - done_on).days, 0)
        reaches = self._reaches(item, days, last.what.done)
        share = max(reach.share for reach in reaches)
        return Standing(
            item=name,
            state="overdue" if share > 1 else "due" if share == 1 else "in_time",
            last=last,
            done_on=done_on,
            reaches=reaches,
            due_on=self._due_on(reaches),
            scale_g=self.water.scale_g(days) if item.about_scale else None,
            finding=None if item.finding is None else item.finding.name,
            level=None if item.finding is None else OVERDUE if share > item.finding.times.at(self.setting) else DONE,
        )

    def _day(self, moment: datetime) -> date:
        """Return the day of a moment where the clock is."""
        try:
            return moment.astimezone(self.now.tzinfo).date()
        except OverflowError:  # an import may hold the first or last day there is
            return moment.date()

    def _missing(self, item: Item) -> tuple[Kit | None, State | None]:
        """Return the first condition on the kit that does not hold, and what that makes of the item."""
        for kit in (*item.only_if, *item.needs):
            known = self.kit.get(kit.finding)
            if known and not known & set(kit.levels):
                return kit, "not_here"
        for kit in item.only_if:
            known = self.kit.get(kit.finding)
            if not known or not known <= set(kit.levels):
                return kit, "unanswered"
        return None, None

    def _reaches(self, item: Item, days: int, done: datetime) -> tuple[Reach, ...]:
        """Return every way in which the item comes round; scale that can be reckoned takes the place of days."""
        every = item.every.at(self.setting)
        scale = self.water.scale_g(days)
        if every.scale is not None and scale is not None:
            return (Reach("scale", scale, every.scale),)
        found = [Reach("days", days, every.days)]
        if every.shots is not None and self.book is not None:
            found.append(Reach("shots", self.book.count_shots(done), every.shots))
        if item.litres and self.water.filter_litres and self.water.litres_per_day:
            found.append(Reach("litres", self.water.litres_per_day * days, self.water.filter_litres))
        return tuple(found)

    def _due_on(self, reaches: tuple[Reach, ...]) -> date | None:
        """Return the day on which the first interval that runs with time ends; shots have no calendar."""
        today = self.now.date()
        left = [_days_left(reach, self.water) for reach in reaches if reach.kind != "shots"]
        days = min((each for each in left if each is not None), default=None)
        try:
            return None if days is None else today + timedelta(days=days)
        except OverflowError:
            return None


def _days_left(reach: Reach, water: WaterUse) -> int | None:
    """Return the days until an interval has ended (negative: since then), None if it never does."""
    daily = {"days": 1.0, "litres": water.litres_per_day, "scale": water.scale_g(1)}.get(reach.kind)
    return None if not daily else ceil((reach.every - reach.since) / daily - 1e-9)


def _kit(book: Logbook | None) -> Mapping[str, set[str]]:
    """Return what talks have kept of the kit; anything of another form is passed over."""
    kept = None if book is None else book.recall(KIT_KEY)
    if not isinstance(kept, Mapping):
        return {}
    return {name: set(map(str, levels)) for name, levels in kept.items() if isinstance(levels, list)}
