"""Which shot each statement belongs to, when one text tells of several.

A new shot begins at a word that says so ("second shot", "next one", "today") or where a measure is said again with
another value. Shots are numbered in time order; what stands without such a word belongs to the last.
"""

from collections.abc import Collection
from dataclasses import dataclass, field

from diagnose.language.doubts import COUNT
from diagnose.language.lexicon import Mark
from diagnose.language.phrases import Match
from diagnose.language.scene import Draft, Scene

# Numbers that describe one shot, and those that describe how the machine stood for it.
OF_SHOT = frozenset(
    ["dose", "yield", "yield_volume", "time", "first_drops", "ratio", "flow_rate", "tds", "extraction", "pressure"]
)
SETTINGS = frozenset({"dial", "brew_temperature"})
_DAYS = {"long_ago": -3, "yesterday": -2, "earlier": -1, "today": 0, "now": 0}
_LAST = 10_000  # "the last shot" comes after every numbered one


@dataclass(slots=True)
class _Group:
    """The drafts of one shot. `key` orders shots in time: (day, number said or order of mention).

    `is_rest` marks what was said of no shot in particular, before shots were counted.
    """

    key: tuple[int, int]
    marked: bool
    drafts: list[Draft] = field(default_factory=list)
    said: dict[str, Draft] = field(default_factory=dict)
    is_rest: bool = False

    def add(self, draft: Draft) -> None:
        """Enter a draft; `said` holds the measurements by name."""
        self.drafts.append(draft)
        if draft.kind == "measurement":
            self.said[draft.name] = draft


@dataclass(frozen=True, slots=True)
class _Stretch:
    """Places that belong together: a clause, or the part of it after or before a marker."""

    places: range
    mark: Match[Mark] | None
    sentence: int


def number_shots(scene: Scene, drafts: list[Draft]) -> int:
    """Set the shot of every draft that belongs to one; return how many shots the text tells of."""
    own = [draft for draft in drafts if _is_of_shot(scene, draft)]
    told = any(draft.name not in SETTINGS for draft in own)
    groups, past_only, used = _grouped(scene, own) if told else ([], False, frozenset())
    for mark in _numbered(scene):
        if mark.first not in used:
            scene.refuse(mark.first, mark.last, COUNT)
    for number, group in enumerate(groups, 1):
        for draft in group.drafts:
            draft.shot = number
    return len(groups) + (1 if past_only else 0)


def _is_of_shot(scene: Scene, draft: Draft) -> bool:
    if draft.kind == "measurement":
        return draft.name in OF_SHOT or draft.name in SETTINGS
    return draft.kind == "observation" and scene.lexicon.findings[draft.name].per_shot


class _Grouper:
    """Walks the stretches of a text and puts each draft into the group of its shot."""

    def __init__(self) -> None:
        self.groups: list[_Group] = []
        self.current: _Group | None = None
        self.used: set[int] = set()
        self._by_key: dict[tuple[int, int], _Group] = {}
        self._number: dict[int, int] = {}
        self._holds_in: int | None = None  # the sentence a leading day word speaks for
        self._listed = False  # whether the stretch before was nothing but one number
        self._last = ""  # the marker before

    def take(self, scene: Scene, stretch: _Stretch, here: list[Draft]) -> None:
        """Put the drafts of one stretch where its marker, or the lack of one, says."""
        mark = stretch.mark
        if mark is not None:
            self._enter(mark.payload.value, here)
            self._holds_in = stretch.sentence if mark.payload.value in _DAYS else None
            self._last = mark.payload.value
            scene.claim(mark.places)
            self.used.add(mark.first)
        elif self._last in {"now", "today"} and scene.is_one_of(stretch.places.start, "past_words"):
            self.current = self._open((_DAYS["earlier"], 1), True)  # "33 s now, was 24"
        elif self._holds_in is not None and self._holds_in != stretch.sentence:
            self.current, self._holds_in = None, None
        if mark is None and self._says_again(here):
            self.current = self._fresh(self._here().key[0], False)
        self._listed = len(here) == 1 and here[0].kind == "measurement"
        measured = [draft.name for draft in here if draft.kind == "measurement"]
        for draft in here:
            self._place(draft, several=len(measured) > 1 and set(measured) == {"time"})
        if mark is not None and self._holds_in is not None and mark.first > stretch.places.start + 1:
            self.current, self._holds_in = None, None  # a day word at the end speaks for its own clause only

    def _here(self) -> _Group:
        """Return the group being filled, or the shot talked about: the last in time, never one of long ago."""
        if self.current is not None:
            return self.current
        recent = [group for group in self.groups if group.key[0] > _DAYS["long_ago"]]
        return max(recent, key=lambda group: group.key) if recent else self._fresh(0, False)

    def _open(self, key: tuple[int, int], marked: bool) -> _Group:
        """Return the group with this key, making it where there is none."""
        if key not in self._by_key:
            self._by_key[key] = _Group(key, marked)
            self.groups.append(self._by_key[key])
            self._number[key[0]] = max(self._number.get(key[0], 0), key[1])
        return self._by_key[key]

    def _fresh(self, day: int, marked: bool) -> _Group:
        """Return a new group after all others of its day."""
        return self._open((day, self._number.get(day, 0) + 1), marked)

    def _says_again(self, here: list[Draft]) -> bool:
        """Tell whether a stretch says a measure of the current shot again: with another value, or as one of a list."""
        before = self._here().said
        again = [draft for draft in here if draft.kind == "measurement" and draft.name in before]
        in_list = self._listed and len(here) == 1
        return any(before[draft.name].quantity != draft.quantity or in_list for draft in again)

    def _enter(self, value: str, here: list[Draft]) -> None:
        """Open the group a marker names."""
        if value.isdigit():
            self._set_apart(value)
            self.current = self._open((0, int(value)), True)
        elif value == "last":
            self.current = self._open((0, _LAST), True)
            self.current.is_rest = False
        elif value == "next":
            self.current = self._fresh(self.current.key[0] if self.current else 0, True)
        elif value in {"today", "now"}:
            self._enter_today(here)
        else:
            self.current = self._open((_DAYS[value], 1), True)

    def _set_apart(self, value: str) -> None:
        """Give what was said before "first shot ..." of no shot in particular to the last one."""
        group = self.current
        if value == "1" and group is not None and not group.marked:
            del self._by_key[group.key]
            self._number[group.key[0]] = 0
            group.key, group.marked = (0, _LAST), True
            self._by_key[group.key] = group
            group.is_rest = True

    def _enter_today(self, here: list[Draft]) -> None:
        """Go on with the shot talked about, unless "today" or "now" sets it against an earlier one."""
        present = [group for group in self.groups if group.key[0] == 0]
        current = max(present, key=lambda group: group.key) if present else None
        names = {draft.name for draft in current.drafts} if current else set()
        again = any(draft.name in names for draft in here)
        self.current = self._fresh(0, True) if current is None or again else current

    def _place(self, draft: Draft, *, several: bool) -> None:
        """Put a draft into the current group, opening a new one where its measure was said before.

        With `several` the stretch lists times, so that one said twice tells of two shots.
        """
        group = self._here()
        before = group.said.get(draft.name)
        again = before is not None and (several or before.quantity != draft.quantity)
        if draft.kind == "measurement" and again:
            group = self._fresh(group.key[0], group.marked)
        self.current = group
        group.add(draft)


def _grouped(scene: Scene, own: list[Draft]) -> tuple[list[_Group], bool, frozenset[int]]:
    """Return the groups in time order, whether only a past is told, and where the markers used begin."""
    by_place: dict[int, list[Draft]] = {}
    for draft in own:
        by_place.setdefault(draft.first, []).append(draft)
    work = _Grouper()
    for stretch in _stretches(scene, by_place.keys()):
        work.take(scene, stretch, [draft for place in stretch.places for draft in by_place.get(place, ())])
    told = sorted((group for group in work.groups if group.drafts), key=lambda group: group.key)
    if len(told) > 1 and told[-1].is_rest:
        rest = told.pop()
        told[-1].drafts += rest.drafts
    past_only = bool(scene.marked("shot", "long_ago")) and all(group.key[0] < 0 for group in told)
    return told, past_only, frozenset(work.used)


def _stretches(scene: Scene, told: Collection[int]) -> list[_Stretch]:
    """Cut the text into clauses, and clauses with several markers at these. `told`: places where drafts stand."""
    counting = counting_words(scene)
    barred = {mark.first for mark in scene.marked("shot") if not _counts(scene, mark, counting)}
    found: list[_Stretch] = []
    start = 0
    waiting: Match[Mark] | None = None
    for place in range(1, scene.size + 1):
        joined = place < scene.size and scene.reading.same_clause(place - 1, place)
        if joined and not scene.is_one_of(place, "sequence_words"):
            continue
        inside = [mark for mark in scene.between("shot", start, place) if mark.first not in barred]
        sentence = scene.reading.sentence[start]
        for piece, mark in _cut(scene, range(start, place), inside):
            if any(at in told for at in piece) or (mark is not None and mark.payload.value == "long_ago"):
                found.append(_Stretch(piece, mark or waiting, sentence))
                waiting = None
            else:
                waiting = mark or waiting
        start = place
    return found


def _cut(scene: Scene, places: range, marks: list[Match[Mark]]) -> list[tuple[range, Match[Mark] | None]]:
    """Cut one clause so that each piece holds one marker: at the marker, or after it where markers follow."""
    if len(marks) < 2:
        return [(places, marks[0] if marks else None)]
    number = scene.reading.items[places.start].kind == "number"  # "17 now 27 before"
    leading = marks[0].first - places.start <= (0 if number else 1)
    if leading:
        starts = [places.start, *(mark.first for mark in marks[1:])]
        ends = [*starts[1:], places.stop]
    else:
        ends = [*(mark.last + 1 for mark in marks[:-1]), places.stop]
        starts = [places.start, *ends[:-1]]
    return [(range(start, end), mark) for start, end, mark in zip(starts, ends, marks, strict=True)]


def numbered_shots(scene: Scene) -> frozenset[int]:
    """Return the places of numbers that only count shots: "shot 2"."""
    return frozenset(place for mark in _numbered(scene) for place in mark.places)


def _numbered(scene: Scene) -> list[Match[Mark]]:
    items = scene.reading.items
    return [mark for mark in scene.marked("shot") if any(items[place].kind == "number" for place in mark.places)]


def counting_words(scene: Scene) -> frozenset[int]:
    """Return the places of "first shot", "second" and so on where a text counts its shots."""
    numbers = [mark for mark in scene.marked("shot") if _is_number(mark) and not _of_time(scene, mark)]
    if len({mark.payload.value for mark in numbers}) < 2:
        return frozenset()
    return frozenset(place for mark in numbers for place in mark.places)


def _of_time(scene: Scene, mark: Match[Mark]) -> bool:
    """Tell whether "first" or "seconds" speaks of time: "strong for the first few seconds"."""
    return scene.reading.word(mark.last) == "seconds" or scene.is_one_of(mark.last + 1, "not_a_shot")


def _is_number(mark: Match[Mark]) -> bool:
    return mark.payload.value.isdigit() or mark.payload.value == "next"


def _is_adverb(scene: Scene, place: int) -> bool:
    """Tell whether "before" stands alone: "27 s before", "before it was 27 s", not "before steaming"."""
    if not scene.reading.same_clause(place, place + 1) or scene.is_one_of(place + 1, "compare_words"):
        return True
    opens = not scene.reading.same_clause(place - 1, place)
    return opens and scene.reading.word(place + 1) == "it" and scene.is_one_of(place + 2, "past_words")


def _counts(scene: Scene, mark: Match[Mark], counting: frozenset[int]) -> bool:
    """Tell whether a marker speaks of a shot here: "yesterday", not "since yesterday" or "opened yesterday"."""
    if mark.places <= scene.claimed and mark.payload.value != "long_ago" and not mark.places <= counting:
        return False
    if scene.reading.word(mark.first) == "before" and not _is_adverb(scene, mark.first):
        return False
    before = range(max(mark.first - 3, 0), mark.first)
    since = any(scene.is_one_of(at, "since_words") and scene.reading.same_clause(at, mark.first) for at in before)
    return not since and not scene.is_one_of(mark.last + 1, "not_a_shot")
