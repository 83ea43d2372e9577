"""Days in words and figures: "roasted 12 Nov", "opened yesterday", "roast date 2024-11-02", "roasted last week".

A date says an age only together with the day it is read on, and only where it is clear what happened then.
"""

from datetime import date
from typing import NamedTuple

from diagnose.language.scene import Draft, Scene
from diagnose.model import Quantity
from diagnose.rulebase.vocabulary import SAID

NO_TODAY = "the age needs today's date; say how many days ago"
WHICH_EVENT = "a date, but of what? Say “roasted” or “opened”"
DAY_OR_MONTH = "day first or month first? Please write the month as a word"
TO_COME = "that day is still to come"
NO_DATE = "there is no such date"
BEST_BEFORE = "a best-before date does not tell the roast date"
_LONGEST = int(SAID["bean_age"].high)
_EVENTS = {"roasted": "bean_age", "opened": "days_open"}
# Words for a stretch back from today: least, usual and most days meant.
_BACK = {"today": (0, 0, 0), "yesterday": (1, 1, 1), "last week": (3, 7, 13), "last month": (15, 30, 60)}


class _Day(NamedTuple):
    """A day found in the text: the places it covers and the dates it may be; none if it is no real date."""

    first: int
    last: int
    dates: tuple[date, ...]


def find_days(scene: Scene, today: date | None) -> list[Draft]:
    """Return the ages that days in the text tell, claiming the days; refuse the days that tell none."""
    drafts = [*_relative(scene), *_weekdays(scene, today)]
    for place in range(scene.size):
        day = None if place in scene.claimed else _written(scene, place, today)
        if day is None:
            continue
        event = _event(scene, day.first, day.last)
        draft = _aged(scene, day, event, today)
        if draft is not None:
            scene.claim(range(day.first, day.last + 1))
            drafts.append(draft)
    return drafts


def _aged(scene: Scene, day: _Day, event: str, today: date | None) -> Draft | None:
    """Return the age a written date tells, or refuse it."""
    reason = ""
    past = sorted({when for when in day.dates if today is None or when <= today}, reverse=True)
    if not event or event == "best_before":
        reason = BEST_BEFORE if event else WHICH_EVENT
    elif not day.dates:
        reason = NO_DATE
    elif today is None:
        reason = NO_TODAY
    elif not past:
        reason = TO_COME
    elif len(past) > 1:
        reason = DAY_OR_MONTH
    elif (today - past[0]).days > _LONGEST:
        reason = f"{SAID['bean_age'].what}: believable up to {_LONGEST} days"
    if reason or today is None:
        scene.refuse(day.first, day.last, reason)
        return None
    age = float((today - past[0]).days)
    return _draft(_EVENTS[event], day.first, day.last, (age, age, age))


def _draft(name: str, first: int, last: int, days: tuple[float, float, float]) -> Draft:
    low, value, high = days
    quantity = Quantity(float(value), "days", float(low), float(high), _days(low, high))
    return Draft("measurement", name, first, last, quantity=quantity)


def _days(low: float, high: float) -> str:
    """Return a stretch of days as it is said back: a date does not read well after "roasted ... ago"."""
    if low < high:
        return f"{low:g} to {high:g} days"
    return "1 day" if high == 1 else f"{high:g} days"


def _event(scene: Scene, first: int, last: int) -> str:
    """Return what happened on the day, from the nearest word for it in the same sentence."""
    reading = scene.reading
    for distance in range(1, 6):
        for place in (first - distance, last + distance):
            if reading.same_sentence(first, place):
                for name in scene.lexicon.cues.get(reading.items[place].stem, ()):
                    if name in {"roasted", "opened", "best_before"}:
                        return name
    return ""


def _relative(scene: Scene) -> list[Draft]:
    """Return ages told by "yesterday", "last week" and the like where something was roasted or opened then."""
    drafts = []
    for mark in scene.marked("back"):
        event = _event(scene, mark.first, mark.last)
        beside = scene.reading.same_clause(mark.first - 1, mark.first)
        if event not in _EVENTS or not beside or not _right_after(scene, mark.first, event):
            continue
        scene.claim(mark.places)
        drafts.append(_draft(_EVENTS[event], mark.first, mark.last, _BACK[mark.payload.value]))
    return drafts


def _right_after(scene: Scene, place: int, event: str) -> bool:
    """Tell whether the word for the event stands just before: "opened a bag yesterday"."""
    items, cues = scene.reading.items, scene.lexicon.cues
    return any(
        event in cues.get(items[at].stem, ())
        and scene.reading.same_clause(at, place)
        and scene.are_all(range(at + 1, place), "bag_words", "articles", "fillers", "last_words")
        for at in range(max(place - 4, 0), place)
    )


def _weekdays(scene: Scene, today: date | None) -> list[Draft]:
    """Return ages told by "roasted last Tuesday"."""
    drafts = []
    for place, item in enumerate(scene.reading.items):
        number = scene.lexicon.weekdays.get(item.word)
        event = _event(scene, place, place) if number is not None else ""
        if number is None or today is None or event not in _EVENTS or not _right_after(scene, place, event):
            continue
        days = float((today.weekday() - number) % 7 or 7)
        scene.claim({place})
        drafts.append(_draft(_EVENTS[event], place, place, (days, days, days)))
    return drafts


def _written(scene: Scene, place: int, today: date | None) -> _Day | None:
    """Return the date written at `place`: in figures, or with the month as a word."""
    item = scene.reading.items[place]
    if item.kind == "date":
        return _Day(place, place, _figures(item.word, today))
    if item.kind not in {"number", "ordinal"} and item.word not in scene.lexicon.months:
        return None
    return _with_month_word(scene, place, today) or _slashed(scene, place, today)


def _figures(written: str, today: date | None) -> tuple[date, ...]:
    """Return the dates that figures such as 2024-11-02, 12.11.2024 or 11/12/2024 may mean."""
    if "-" in written:
        whole, month, day = (int(piece) for piece in written.split("-"))
        return _dates(whole, (month, day))
    mark = "." if "." in written else "/"
    pieces = [int(piece) for piece in written.split(mark) if piece]
    year = pieces[2] + (2000 if pieces[2] < 100 else 0) if len(pieces) > 2 else None
    orders = ((pieces[1], pieces[0]),) if mark == "." else ((pieces[1], pieces[0]), (pieces[0], pieces[1]))
    return _dates(year, *orders, today=today)


def _dates(year: int | None, *orders: tuple[int, int], today: date | None = None) -> tuple[date, ...]:
    """Return the real dates among (month, day) pairs; without a year the latest that is not to come."""
    found = []
    for month, day in orders:
        years = (year,) if year is not None else (today.year, today.year - 1) if today else (2000,)
        for candidate in years:
            try:
                when = date(candidate, month, day)
            except ValueError:
                continue
            if year is not None or today is None or when <= today:
                found.append(when)
                break
    return tuple(found)


def _with_month_word(scene: Scene, place: int, today: date | None) -> _Day | None:
    """Return "12 Nov", "Nov 12", "12th of November 2024"."""
    items, months = scene.reading.items, scene.lexicon.months
    here, beside = items[place], place + 1
    if scene.reading.word(beside) == "of":
        beside += 1
    if not scene.reading.same_clause(place, beside):
        return None
    other = items[beside]
    if here.word in months and other.kind in {"number", "ordinal"}:
        month, day = months[here.word], other.value
    elif here.kind in {"number", "ordinal"} and other.word in months:
        month, day = months[other.word], here.value
    else:
        return None
    last = beside
    year: int | None = None
    follows = items[beside + 1] if beside + 1 < len(items) else None
    if follows is not None and follows.kind == "number" and 2000 <= follows.value <= 2100:
        last, year = beside + 1, int(follows.value)
    return _Day(place, last, _dates(year, (month, int(min(day, 99))), today=today))


def _slashed(scene: Scene, place: int, today: date | None) -> _Day | None:
    """Return "12/11" right after a word that says what happened on that day."""
    pieces = scene.reading.items[place : place + 3]
    if len(pieces) < 3 or pieces[1].word != "/" or pieces[2].kind != "number" or not _event(scene, place, place):
        return None
    first, second = int(min(pieces[0].value, 99)), int(min(pieces[2].value, 99))
    return _Day(place, place + 2, _dates(None, (second, first), (first, second), today=today))
