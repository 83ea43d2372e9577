"""The words beside a number that say what it is: the nearest one names it, and names only one number.

Words for one thing stand on either side ("dose 18 g", "18 g dose"), so at equal distance the left one wins and a word
once used is used up. "in" and "out" need care: "18 in 36 out", "in 18, out 36", "36 out in 27", "18 g in the basket".
"""

from collections.abc import Iterable
from dataclasses import dataclass, field

from diagnose.language.amounts import Amount
from diagnose.language.scene import Scene

_LEFT, _RIGHT = 5, 4  # how many words away a naming word may stand
_PLACES = ("basket", "cup", "milk", "dose")  # what "in the ..." may be followed by


@dataclass(slots=True)
class Cues:
    """The naming words of one scene: which are used up, and `found`, the places of those of each amount."""

    scene: Scene
    amounts: list[Amount]
    used: set[int] = field(default_factory=set)
    taken: dict[int, int] = field(default_factory=dict)
    found: dict[int, set[int]] = field(default_factory=dict)
    counting: frozenset[int] = frozenset()

    def __post_init__(self) -> None:
        """Note which places the amounts cover, and which words only count shots ("first shot", "second")."""
        counted = [mark for mark in self.scene.marked("shot") if mark.payload.value.isdigit()]
        if len({mark.payload.value for mark in counted}) > 1:
            self.counting = frozenset(place for mark in counted for place in mark.places)
        for index, amount in enumerate(self.amounts):
            self.taken |= dict.fromkeys(range(amount.first, amount.last + 1), index)

    def nearest(self, index: int, wanted: Iterable[str]) -> str:
        """Return the nearest naming word among `wanted` and use it up; "" where there is none."""
        wanted = frozenset(wanted)
        choices = [*self._side(index, -1, wanted), *self._side(index, 1, wanted)]
        if not choices:
            return ""
        *_, place, name = min(choices)
        run = self._run(place, name)
        self.used |= run
        self.found[index] = run
        self.scene.claim(run)
        return name

    def release(self, index: int) -> None:
        """Give back the words that turned out not to name this amount."""
        self.used -= self.found.pop(index, set())

    def near(self, index: int, *wanted: str) -> bool:
        """Tell whether one of these naming words stands in the clause near the amount, used up or not."""
        amount = self.amounts[index]
        around = range(amount.first - _LEFT, amount.last + _RIGHT + 1)
        return any(name in wanted for place in around for name in self._names(index, place))

    def at(self, place: int) -> tuple[str, ...]:
        """Return what the word at `place` can name."""
        inside = 0 <= place < self.scene.size
        return self.scene.lexicon.cues.get(self.scene.reading.items[place].stem, ()) if inside else ()

    def _names(self, index: int, place: int) -> tuple[str, ...]:
        if (
            place in self.taken
            or place in self.counting
            or not self.scene.reading.same_clause(place, self.amounts[index].core)
        ):
            return ()
        return self.at(place)

    def _side(self, index: int, step: int, wanted: frozenset[str]) -> list[tuple[int, bool, int, int, str]]:
        """Return the first naming word on one side, as (distance, is weak, side, place, name) for comparison."""
        amount = self.amounts[index]
        place = amount.first - 1 if step < 0 else amount.last + 1
        bare = amount.unit is None
        beside = self._said_by_in(place, step)
        if beside in wanted:
            return [(1, False, step, place, beside)]
        for distance in range(1, (_LEFT if step < 0 else _RIGHT) + 1):
            if place in self.taken or self.scene.is_one_of(place, "clause_words"):
                break
            for name in self._names(index, place):
                if name in wanted and place not in self.used and self._stands(name, place, step, distance):
                    weak = not self.scene.is_one_of(place, "strong_cues")
                    return [(distance, weak, step, place, name)]
            if bare and not self._bridges(place):
                break
            place += step
        return []

    def _bridges(self, place: int) -> bool:
        """Tell whether a word between a number without unit and what names it is of little weight."""
        return bool(self.at(place)) or any(
            self.scene.is_one_of(place, words) for words in ("bridge_words", "reach", "fillers")
        )

    def _stands(self, name: str, place: int, step: int, distance: int) -> bool:
        """Tell whether "in" and "out" say dose and yield here, rather than "in 27 s" or "in the cup"."""
        word = self.scene.reading.word(place)
        if word == "in":
            return name == "dose" and distance == 1 and self._is_dose_in(place, step)
        if name == "first_drops" and self.scene.is_one_of(place + 1, "falling_words"):
            return False  # "drops to 6"
        if name == "first_drops" and word.startswith("start") and self._is_past(place):
            return False  # "started 27 now 38"
        return word != "out" or (distance == 1 and name == "yield")

    def _is_past(self, place: int) -> bool:
        """Tell whether the number after the word at `place` is set against one of now."""
        index = self.taken.get(place + 1, self.taken.get(place + 2))
        after = self.amounts[index].last + 1 if index is not None else place
        return self.scene.is_one_of(after, "compare_words") and after + 1 in self.taken

    def _said_by_in(self, place: int, step: int) -> str:
        """Return what a plain "in" beside the number says: where it is ("in the cup"), or how long it took."""
        if self.scene.reading.word(place) != "in" or place in self.used:
            return ""
        if step > 0:
            return self._place_after(place)
        bare = place + 1 in self.taken and self.amounts[self.taken[place + 1]].unit is None
        return "time" if bare and not self._is_dose_in(place, step) else ""

    def _is_dose_in(self, place: int, step: int) -> bool:
        """Tell whether "in" after a number, or before one, means what goes in."""
        if step > 0:
            following = self.taken.get(place + 1)
            timed = following is not None and self.amounts[following].dimension == "time"
            return not timed and not self._place_after(place)
        starts = not self.scene.reading.same_clause(place - 1, place)
        return starts or self.scene.reading.word(place - 1) in self.scene.lexicon.words("put_words")

    def _place_after(self, place: int) -> str:
        """Return what "in" is followed by: "basket", "cup", "milk" (a jug), "dose" (a portafilter), or ""."""
        found = ""
        for beside in range(place + 1, place + 1 + _RIGHT):
            if beside in self.taken or not self.scene.reading.same_clause(place, beside):
                break
            found = next((name for name in _PLACES if name in self.at(beside)), found)
        return found

    def _run(self, place: int, name: str) -> set[int]:
        """Return the place with the naming words of the same kind right beside it ("coffee in")."""
        places = {place}
        for step in (-1, 1):
            beside = place + step
            while beside not in self.taken and name in self.at(beside):
                places.add(beside)
                beside += step
        return places
