"""From a text to one jug of milk: what each number is, told by its unit and the words beside it.

"200 g from 5 to 65 C at 1.0 bar gauge", "40 C after 30 s", "36 g espresso", "dryness 0.9", "1600 m", "grew to 280 ml".
"""

from dataclasses import dataclass, field, replace
from itertools import takewhile

from diagnose.language.units import Unit
from diagnose.report import milk_words as words
from diagnose.report.amounts import Amount, Reading, read
from diagnose.report.digits import Figure
from diagnose.report.milk_words import LIMITS, NAMES, Role
from diagnose.report.said import Asked, amount_text, number_text
from diagnose.report.units import MILK_UNITS
from diagnose.science.ranges import within

EXAMPLE = "200 g from 5 to 65 C at 1.0 bar gauge"
_ENDS: tuple[Role, Role] = ("start_degc", "stop_degc")
_NEEDED: tuple[tuple[frozenset[Role], str], ...] = (
    (frozenset({"milk_g", "milk_ml"}), "How much milk is in the jug, in g or mL?"),
    (frozenset({"start_degc"}), "At which temperature does the milk start?"),
    (frozenset({"stop_degc"}), "To which temperature is it steamed?"),
)
_LEAST_MASS = 10.0  # a bare number below this counts jugs or shots, it weighs none


@dataclass(slots=True)
class JugSaid:
    """What was told of a jug, in the units the roles end in; `fahrenheit` where degrees were told in those."""

    figures: dict[Role, Figure] = field(default_factory=dict)
    heard: list[str] = field(default_factory=list)
    not_used: list[str] = field(default_factory=list)
    kind: str = ""
    fahrenheit: bool = False
    wet: bool = False


def read_jug(text: str) -> JugSaid:
    """Return what a text tells of a jug.

    Raises Asked when a unit or a number is missing or a number may mean two things, with all questions at once, and
    OutOfRange for what cannot be.
    """
    teller = _Teller(read(text, MILK_UNITS))
    teller.run()
    if teller.questions:
        raise Asked("\n".join(dict.fromkeys(teller.questions)))
    return teller.said


class _Teller:
    """Gives each amount its role."""

    def __init__(self, reading: Reading) -> None:
        self.reading = reading
        self.amounts = reading.amounts
        self.said = JugSaid()
        self.questions: list[str] = []
        self.loose: list[Amount] = []
        self.seen_last = False  # "65 C in 30 s" may be where the milk stops, "30 s to 40 C" is on the way
        said_words = {piece.text for piece in reading.pieces}
        self.said.kind = next((kind for word, kind in words.KINDS.items() if word in said_words), "")
        self.said.wet = not said_words.isdisjoint({"wet", "spitting", "spits"})

    def run(self) -> None:
        """Tell of every amount, then of those only their place can tell of, then ask for what is missing."""
        seen = self._seen()
        for index, amount in enumerate(self.amounts):
            try:
                if index in seen:
                    self._put(seen[index], amount)
                else:
                    self._tell(index, amount)
            except Asked as asked:
                self.questions.append(str(asked))
        self._place_loose()
        self._finish()

    def _before(self, index: int) -> list[str]:
        """Return the words before an amount, from the last break or amount on."""
        pieces = (self.reading.pieces[place] for place in reversed(self.reading.gap(index)))
        return [piece.text for piece in takewhile(lambda piece: piece.kind != "break", pieces)][::-1]

    def _cue(self, index: int) -> str:
        """Return what a temperature is of, by the nearest telling word before it; "" where none tells."""
        near = reversed(self._before(index)[-4:])
        return next((name for word in near for name, cues in words.CUES.items() if word in cues), "")

    def _behind(self, index: int) -> list[str]:
        """Return the words behind an amount up to the next break."""
        pieces = (self.reading.pieces[place] for place in self.reading.gap(index + 1))
        return [piece.text for piece in takewhile(lambda piece: piece.kind != "break", pieces)]

    def _near(self, index: int, wanted: frozenset[str], before: int = 3) -> bool:
        """Tell whether one of these words stands close: within `before` words before, or the next two behind."""
        close = [*self._before(index)[-before:], *self._behind(index)[:2]]
        return not wanted.isdisjoint(close)

    def _seen(self) -> dict[int, Role]:
        """Return which amounts are a time and the temperature it led to: "30 s to 40 C", "40 C after 30 s"."""
        index = next((place for place, amount in enumerate(self.amounts) if amount.dimension == "time"), None)
        if index is None:
            return {}
        if self._is_degree(index + 1) and words.REACHING.issuperset(self._before(index + 1)):
            return {index: "seen_s", index + 1: "seen_degc"}
        words_between = self._before(index)
        stops = not words.STOP.isdisjoint(self._before(index - 1)[-2:]) if index else True
        if self._is_degree(index - 1) and words_between and words.TAKING.issuperset(words_between) and not stops:
            self.seen_last = True
            return {index: "seen_s", index - 1: "seen_degc"}
        return {index: "seen_s"}

    def _is_degree(self, index: int) -> bool:
        """Tell whether there is one temperature, not a pair, at a place among the amounts."""
        inside = 0 <= index < len(self.amounts)
        return inside and self.amounts[index].dimension == "temperature" and len(self.amounts[index].numbers) == 1

    def _tell(self, index: int, amount: Amount) -> None:
        """Tell of one amount by its unit."""
        tell = {
            "mass": self._mass,
            "ounce": self._mass,
            "volume": self._volume,
            "temperature": self._temperature,
            "degree": self._temperature,
            "pressure": self._pressure,
            "pressure absolute": self._pressure,
            "percent": self._dryness,
            "": self._bare,
        }.get(amount.dimension)
        by_unit: dict[str, Role] = {"length": "altitude_m", "rate": "rate_degc_s"}
        if tell is not None:
            tell(index, amount)
        elif amount.dimension in by_unit:
            self._put(by_unit[amount.dimension], amount)
        elif amount.dimension == "degree rate":
            raise Asked(f"Is {self._quote(amount)} in °C or °F a second? Write for example “2 C per second”.")
        else:
            self._unused(amount)

    def _mass(self, index: int, amount: Amount) -> None:
        behind = self._behind(index)[:2]
        espresso = words.ESPRESSO.intersection(behind)
        if not espresso and words.MILK.isdisjoint(behind):
            espresso = words.ESPRESSO.intersection(self._before(index)[-2:])
        self._put("espresso_g" if espresso else "milk_g", amount)

    def _volume(self, index: int, amount: Amount) -> None:
        if not words.ESPRESSO.isdisjoint(self._behind(index)[:2]):
            self._unused(amount, "tell the espresso in g")
        elif self._near(index, words.GROWN) or "to" in self._before(index)[-1:]:
            if len(amount.numbers) > 1:
                self.said.not_used.append(f"{amount.numbers[0].text} (what the volume rose from)")
            self._put("final_ml", replace(amount, numbers=amount.numbers[-1:]))
        elif not {"milk_g", "milk_ml"} & self.said.figures.keys():
            self._put("milk_ml", amount)
        else:
            self._unused(amount)

    def _temperature(self, index: int, amount: Amount) -> None:
        cue = self._cue(index)
        if amount.dimension == "degree":
            raise Asked(f"Is {self._quote(amount)} in °C or °F? Write for example “{number_text(amount)} C”.")
        if not cue and index and not self._before(index) and "espresso_g" in self.said.figures:
            cue = "espresso"
        if len(amount.numbers) > 1 and cue != "espresso":
            for end, number in zip(_ENDS, amount.numbers, strict=True):
                self._put(end, replace(amount, numbers=(number,)))
            return
        roles: dict[str, Role] = {
            "espresso": "espresso_degc", "boiler": "boiler_degc", "start": "start_degc", "stop": "stop_degc",
        }  # fmt: skip
        if cue:
            self._put(roles[cue], amount)
        else:
            self.loose.append(amount)

    def _pressure(self, index: int, amount: Amount) -> None:
        if self._cue(index) == "espresso":
            self._unused(amount, "not a pressure of steam")
        elif amount.basis == "absolute" or amount.dimension == "pressure absolute":
            self._put("boiler_absolute_bar", amount)
        else:
            self._put("boiler_bar", amount)

    def _dryness(self, index: int, amount: Amount) -> None:
        """Take "90 % dry" and "10 % moisture"; other percentages, such as fat, have no part here."""
        if self._near(index, words.WET) and not self._near(index, words.DRY):
            turned = tuple(replace(one, value=100.0 - one.value) for one in amount.numbers)
            self._put("dryness", replace(amount, numbers=turned), f"steam with {number_text(amount)} % moisture")
        elif self._near(index, words.DRY):
            self._put("dryness", amount)
        else:
            self._unused(amount)

    def _bare(self, index: int, amount: Amount) -> None:
        """Take a number without a unit: a dryness, or a question for the unit."""
        before = self._before(index)
        number = number_text(amount)
        if amount.value != amount.value:
            self._unused(amount)
        elif self._near(index, words.DRY):
            self._put("dryness", amount)
        elif len(amount.numbers) > 1 or not (words.START | {"to", "until"}).isdisjoint(before[-2:]):
            raise Asked(f"Is {number} in °C or °F? Write for example “{number} C”.")
        elif self._cue(index) == "boiler":
            raise Asked(f"Is the boiler's {number} in bar or psi? Write for example “{number} bar”.")
        elif amount.value >= _LEAST_MASS and (index == 0 or self._near(index, words.MILK | words.ESPRESSO)):
            raise Asked(f"Is {number} in g or mL? Write for example “{number} g”.")
        else:
            self._unused(amount)

    def _place_loose(self) -> None:
        """Give temperatures without a word of their own their place: two are start and stop, one is what lacks."""
        lacking = [role for role in _ENDS if role not in self.said.figures]
        if self.seen_last and len(self.loose) == 1:
            lacking = lacking[:1]
        if len(self.loose) > len(lacking) or (len(self.loose) == 1 and len(lacking) == 2):
            told = ", ".join(self._quote(amount) for amount in self.loose)
            self.questions.append(f"What is {told}: where the milk starts or where it stops? Write “from 5 to 65 C”.")
            return
        for role, amount in zip(lacking, self.loose, strict=False):
            self._put(role, amount)

    def _finish(self) -> None:
        """Let a temperature seen last be where the milk stops, and ask for what is still missing."""
        figures = self.said.figures
        if self.seen_last and "stop_degc" not in figures and "seen_degc" in figures:
            figures["stop_degc"] = figures["seen_degc"]
            self.said.heard.append("which is where it stops")
        if self.questions:
            return
        missing = [question for roles, question in _NEEDED if not roles & figures.keys()]
        if missing:
            self.questions.append(f"{' '.join(missing)} Write for example “{EXAMPLE}”.")

    def _put(self, role: Role, amount: Amount, shown: str = "") -> None:
        """Enter a number under its role; a second one for the same role is asked about."""
        unit = amount.unit or Unit("", 1.0, "")
        low, high, what = LIMITS[role]
        for value in {amount.value, *(one.value for one in amount.numbers)}:
            within(value, unit.own(low), unit.own(high), what, unit.name)
        said = shown or f"{NAMES[role]} {amount_text(amount, f'{unit.name} {amount.basis}'.rstrip())}"
        if role in self.said.figures:
            raise Asked(f"There are two values for the {what}; “{said}” is the second. Give one.")
        self.said.figures[role] = Figure(unit.canonical(amount.value), amount.half * unit.factor)
        if role == "boiler_bar" and not amount.basis and unit.name != "bar gauge":
            said += ", read as the gauge shows it"
        self.said.heard.append(f"{said} (by weight)" if amount.dimension == "ounce" else said)
        self.said.fahrenheit = self.said.fahrenheit or unit.shift != 0.0

    def _unused(self, amount: Amount, reason: str = "") -> None:
        behind = amount.last + 1
        word = behind < len(self.reading.pieces) and self.reading.pieces[behind].kind == "word"
        quoted = self.reading.quote(amount.first, behind if word else amount.last)
        self.said.not_used.append(f"{quoted} ({reason})" if reason else quoted)

    def _quote(self, amount: Amount) -> str:
        return self.reading.quote(amount.first, amount.last)
