"""What a number is a number of: by the words beside it, by its unit, by the usual order, by its size.

Where these leave it open, the number is not guessed: it gets a doubt, a reason that asks for what is missing.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from diagnose.language.amounts import Amount
from diagnose.language.scene import Scene
from diagnose.language.units import CELSIUS, FAHRENHEIT, FLUID_OUNCE, GERMAN_DEGREE, UNITS, Unit
from diagnose.rulebase.vocabulary import SAID

LARGEST_DOSE = 23.0  # without other words, up to here a mass is the dose (common practice, no source)
SMALLEST_DRINK = 28.0  # and from here on the drink
_USUAL_RATIO = (0.8, 5.0)  # yield over dose of a list such as "18 36 27"
_LEFT, _RIGHT = 5, 4  # how many words away a naming word may stand

UNUSED = "not a number the diagnosis uses"
COUNT = "read as a count, not as a measurement"
WHICH_UNIT = "of what? Please give the unit: g, s, bar, °C ..."
DOSE_OR_DRINK = "is that the coffee in the basket or the drink in the cup? Say “in” or “out”"
DRINK_OR_TIME = "grams out or seconds? Please give the unit"
MILK_OR_WATER = "is that the milk or the brewing water?"
RATIO_OR_TIME = "a ratio, or minutes and seconds?"
WATER_WHICH = "is that hardness, alkalinity or dissolved solids (TDS)?"
AGE_OF_WHAT = "read as a stretch of time, not as a measurement"
PERCENT_OF_WHAT = "per cent of what?"


@dataclass(slots=True)
class Named:
    """An amount with the name of its measure, or with the doubt that keeps it from being used."""

    amount: Amount
    name: str = ""
    doubt: str = ""
    unit: Unit | None = None
    factor: float = 1.0


@dataclass(slots=True)
class Namer:
    """Names the amounts of one scene. `asked` is the measure an open question is about, if any."""

    scene: Scene
    amounts: list[Amount]
    asked: str = ""
    named: list[Named] = field(default_factory=list)
    _used: set[int] = field(default_factory=set)
    _taken: dict[int, int] = field(default_factory=dict)

    def run(self) -> list[Named]:
        """Return every amount with a name or a doubt."""
        for index, amount in enumerate(self.amounts):
            self._taken |= dict.fromkeys(range(amount.first, amount.last + 1), index)
        for index, amount in enumerate(self.amounts):
            self.named.append(self._by_words(index, amount))
        self._by_order()
        for named in self.named:
            if not named.name and not named.doubt:
                self._by_size(named)
            if named.doubt in {WHICH_UNIT, DOSE_OR_DRINK, DRINK_OR_TIME, MILK_OR_WATER, WATER_WHICH}:
                self._as_asked(named)
        return self.named

    # By the words beside it -------------------------------------------------------------------------------------

    def _by_words(self, index: int, amount: Amount) -> Named:
        """Name one amount by its unit and the naming words near it."""
        if amount.bare_pair:
            return Named(amount, doubt=RATIO_OR_TIME)
        return _BY_DIMENSION[amount.dimension](self, index, amount)

    def _cue(self, index: int, wanted: Iterable[str]) -> str:
        """Return the nearest naming word among `wanted` (left before right at equal distance) and use it up."""
        choices = [*self._side(index, -1, wanted), *self._side(index, 1, wanted)]
        if not choices:
            return ""
        _, _, place, name = min(choices)
        self._used.update(self._run(place, name))
        return name

    def _has(self, index: int, *wanted: str) -> bool:
        """Tell whether one of these naming words stands near, used up or not."""
        amount = self.amounts[index]
        near = range(amount.first - _LEFT, amount.last + _RIGHT + 1)
        return any(name in wanted for place in near for name in self._names(index, place))

    def _names(self, index: int, place: int) -> tuple[str, ...]:
        """Return what the word at `place` can name, if it stands in the clause of the amount."""
        if not self.scene.reading.same_clause(place, self.amounts[index].core) or place in self._taken:
            return ()
        return self.scene.lexicon.cues.get(self.scene.reading.items[place].stem, ())

    def _side(self, index: int, step: int, wanted: Iterable[str]) -> list[tuple[int, int, int, str]]:
        """Return (distance, side, place, name) of the first naming word on one side of the amount."""
        amount = self.amounts[index]
        place, distance = (amount.first - 1, 1) if step < 0 else (amount.last + 1, 1)
        reach = _LEFT if step < 0 else _RIGHT
        while distance <= reach and place not in self._taken:
            for name in self._names(index, place):
                if name in wanted and place not in self._used and self._stands(name, place, step, distance):
                    return [(distance, step, place, name)]
            if self.scene.is_one_of(place, "clause_words"):
                break
            place, distance = place + step, distance + 1
        return []

    def _stands(self, name: str, place: int, step: int, distance: int) -> bool:
        """Tell whether "in" and "out" say dose and yield here, rather than "in 27 s" or "in the cup"."""
        word = self.scene.reading.word(place)
        if word == "in":
            return name == "dose" and distance == 1 and self._is_dose_in(place, step)
        if word == "out":
            return distance <= 1 and name == "yield"
        return True

    def _is_dose_in(self, place: int, step: int) -> bool:
        before, after = self.scene.reading.word(place - 1), self._taken.get(place + 1)
        if step > 0:
            if self._place_noun(place):
                return False
            following = self.amounts[after] if after is not None else None
            return following is None or following.dimension not in {"time"}
        starts = not self.scene.reading.same_clause(place - 1, place)
        return starts or before in self.scene.lexicon.words("put_words")

    def _place_noun(self, place: int) -> str:
        """Return "dose" for "in the basket", "yield" for "in the cup", "" for a plain "in"."""
        for step in (1, 2, 3):
            if not self.scene.reading.same_clause(place, place + step) or place + step in self._taken:
                return ""
            for name in self.scene.lexicon.cues.get(self.scene.reading.items[place + step].stem, ()):
                if name in {"dose", "yield", "basket", "cup", "milk"}:
                    return name
        return ""

    def _run(self, place: int, name: str) -> set[int]:
        """Return the place with the naming words of the same kind right beside it ("coffee in")."""
        places = {place}
        for step in (-1, 1):
            beside = place + step
            while beside not in self._taken and beside not in places and self._same_kind(beside, name):
                places.add(beside)
                beside += step
        return places

    def _same_kind(self, place: int, name: str) -> bool:
        inside = 0 <= place < self.scene.size
        return inside and name in self.scene.lexicon.cues.get(self.scene.reading.items[place].stem, ())

    def _mass(self, index: int, amount: Amount) -> Named:
        name = self._cue(index, ("dose", "yield", "cup", "basket", "milk", "water", "unused", "grinding"))
        if name == "basket" and self._basket_follows(index):
            return Named(amount, "basket_size", unit=amount.unit)
        if name == "water":
            return self._water_flow(index, amount)
        known = {"dose": "dose", "basket": "dose", "grinding": "dose", "yield": "yield", "cup": "yield", "milk": "milk_mass"}
        if name == "unused":
            return Named(amount, doubt=UNUSED)
        return Named(amount, known.get(name, ""), unit=amount.unit)

    def _basket_follows(self, index: int) -> bool:
        """Tell "an 18 g basket" and "basket is 18 g" from "18 g in the basket"."""
        last = self.amounts[index].last
        return self.scene.reading.word(last + 1) not in {"in", "into"}

    def _water_flow(self, index: int, amount: Amount) -> Named:
        """Name water caught for ten seconds; water over another time cannot be compared."""
        after = self.amounts[index + 1] if index + 1 < len(self.amounts) else None
        if after and after.dimension == "time" and after.unit and after.unit.canonical(after.value) == 10.0:
            return Named(amount, "water_flow", unit=amount.unit)
        return Named(amount, doubt="water is compared over ten seconds; weigh what runs in 10 s")

    def _ounce(self, index: int, amount: Amount) -> Named:
        """Tell ounces of coffee (weight) from ounces in the cup (volume)."""
        name = self._cue(index, ("dose", "yield", "cup", "basket", "milk", "water"))
        ounces = amount.value
        if name in {"dose", "basket"} and ounces <= 1.3:
            return Named(amount, "dose", unit=amount.unit)
        if name in {"milk", "cup", "water"} or (name == "yield" or (not name and ounces >= 1.3)):
            return self._volume_named(index, amount, name, FLUID_OUNCE)
        if not name and ounces < 0.95:
            return Named(amount, "dose", unit=amount.unit)
        return Named(amount, doubt=DOSE_OR_DRINK)

    def _volume(self, index: int, amount: Amount) -> Named:
        name = self._cue(index, ("yield", "cup", "milk", "water", "unused"))
        return self._volume_named(index, amount, name, amount.unit)

    def _volume_named(self, index: int, amount: Amount, name: str, unit: Unit | None) -> Named:
        if name == "milk":
            return Named(amount, "milk_mass", unit=unit, factor=MILK_DENSITY)
        if name in {"water", "unused"}:
            return Named(amount, doubt=UNUSED)
        in_cup = self.scene.reading.word(amount.last + 1) in {"in", "into", "out"}
        return Named(amount, "cup_volume" if name == "cup" and not in_cup else "yield_volume", unit=unit)

    def _time(self, index: int, amount: Amount) -> Named:
        seconds = amount.unit.canonical(amount.value) if amount.unit else amount.value
        name = self._cue(index, ("first_drops", "milk", "grinding", "other_time", "unused", "time"))
        if index and self.named[index - 1].name == "water_flow":
            return Named(amount, doubt="the ten seconds of the water test")
        if name == "milk":
            return Named(amount, "milk_time", unit=amount.unit)
        if name == "first_drops":
            return Named(amount, "first_drops", unit=amount.unit)
        if name in {"grinding", "other_time", "unused"} or (seconds > 300 and name != "time"):
            return Named(amount, doubt=AGE_OF_WHAT)
        return Named(amount, "time", unit=amount.unit)

    def _temperature(self, index: int, amount: Amount) -> Named:
        unit = amount.unit
        if unit is None or unit.dimension == "degree":
            unit = FAHRENHEIT if amount.value >= 115 else CELSIUS
        name = self._cue(index, ("milk", "brew", "unused"))
        degrees = unit.canonical(amount.value)
        if name == "unused":
            return Named(amount, doubt=UNUSED)
        if name == "milk" or (index and self.named[index - 1].name.startswith("milk_start") and degrees > 40):
            start = self._has(index, "start") and degrees <= 40
            return Named(amount, "milk_start" if start else "milk_temperature", unit=unit)
        if name == "brew" or degrees >= 80:
            return Named(amount, "brew_temperature", unit=unit)
        return Named(amount, doubt=MILK_OR_WATER, unit=unit)

    def _pressure(self, index: int, amount: Amount) -> Named:
        name = self._cue(index, ("boiler", "milk", "rating", "unused", "pressure"))
        if name in {"rating", "unused"}:
            return Named(amount, doubt="the rating of the pump, not the pressure while brewing" if name == "rating" else UNUSED)
        return Named(amount, "boiler_pressure" if name in {"boiler", "milk"} else "pressure", unit=amount.unit)

    def _content(self, index: int, amount: Amount) -> Named:
        name = self._cue(index, ("alkalinity", "bicarbonate", "hardness", "tds", "unused"))
        known = {"alkalinity": "water_alkalinity", "hardness": "water_hardness", "tds": "water_tds"}
        if name == "bicarbonate":
            from diagnose.language.units import CACO3_OVER_HCO3

            return Named(amount, "water_alkalinity", unit=amount.unit, factor=CACO3_OVER_HCO3)
        if name in known:
            return Named(amount, known[name], unit=amount.unit)
        return Named(amount, doubt=UNUSED if name else WATER_WHICH)

    def _hardness(self, index: int, amount: Amount) -> Named:
        carbonate = self._cue(index, ("alkalinity", "hardness")) == "alkalinity"
        carbonate = carbonate or self.scene.reading.word(amount.last) == "dkh"
        return Named(amount, "water_alkalinity" if carbonate else "water_hardness", unit=amount.unit)

    def _percent(self, index: int, amount: Amount) -> Named:
        name = self._cue(index, ("tds", "unused"))
        return Named(amount, "tds", unit=amount.unit) if name == "tds" else Named(amount, doubt=PERCENT_OF_WHAT)

    def _days(self, index: int, amount: Amount) -> Named:
        name = self._cue(index, ("roasted", "opened", "unused", "care", "dose"))
        if name == "opened":
            return Named(amount, "days_open", unit=amount.unit)
        if name in {"care", "unused"}:
            return Named(amount, doubt=AGE_OF_WHAT)
        old = self.scene.is_one_of(amount.last + 1, "age_words")
        return Named(amount, "bean_age", unit=amount.unit) if name == "roasted" or old else Named(amount, doubt=AGE_OF_WHAT)

    def _notch(self, index: int, amount: Amount) -> Named:
        if self._cue(index, ("dial",)) and not self._has(index, "moved"):
            return Named(amount, "dial", unit=amount.unit)
        return Named(amount, doubt="a move of the dial; say with it which way you went (finer or coarser)")

    def _rate(self, _index: int, amount: Amount) -> Named:
        return Named(amount, "flow_rate", unit=amount.unit)

    def _ratio(self, _index: int, amount: Amount) -> Named:
        return Named(amount, "ratio", unit=amount.unit)

    def _unused(self, _index: int, amount: Amount) -> Named:
        return Named(amount, doubt=UNUSED)

    def _bare(self, index: int, amount: Amount) -> Named:
        """Name a number without unit where a word beside it says what it is and so in which unit."""
        if self.scene.is_one_of(amount.last + 1, "counted"):
            return Named(amount, doubt=COUNT)
        name = self._cue(index, (*_BARE, "unused", "basket", "brew", "hardness", "alkalinity", "ratio"))
        if name in {"brew"}:
            return self._temperature(index, amount)
        if name == "ratio" and amount.low == 1.0 and amount.high > 1.0:
            ratio = Amount(amount.first, amount.core, amount.last, amount.high, amount.high, None)
            return Named(ratio, "ratio")
        if name in {"hardness", "alkalinity"} and self.scene.reading.word(amount.first - 1) in {"kh", "gh"}:
            return Named(amount, f"water_{name}", unit=GERMAN_DEGREE)
        if name in _BARE:
            return self._in_usual_unit(name, amount)
        if name == "basket":
            return Named(amount, "dose" if not self._basket_follows(index) else "basket_size")
        return Named(amount, doubt=UNUSED if name == "unused" else "")

    def _in_usual_unit(self, name: str, amount: Amount) -> Named:
        """Return the amount in the unit people leave out, if its size fits no other."""
        measure = _BARE[name]
        if measure == "dose" and amount.low > SAID["dose"].high:
            return Named(amount)
        if (measure == "pressure" and amount.high > 20) or (measure == "tds" and amount.high > 20):
            return Named(amount, doubt=WHICH_UNIT)
        return Named(amount, measure)

    # By order and by size ---------------------------------------------------------------------------------------

    def _by_order(self) -> None:
        """Read "18 36 27" as dose, yield and time, and a bare number after dose and yield as the time."""
        for index, named in enumerate(self.named):
            if named.name or named.doubt or named.amount.dimension not in {"", "mass"}:
                continue
            three = self.named[index : index + 3]
            if self._is_triple(three):
                for one, name in zip(three, ("dose", "yield", "time"), strict=False):
                    one.name = one.name or name
                continue
            before = self.named[index - 1].name if index else ""
            earlier = {one.name for one in self.named[:index] if self._near(one, named)}
            if named.amount.dimension == "" and before in {"yield", "ratio", "yield_volume"}:
                follows_in = self.scene.reading.word(named.amount.first - 1) == "in"
                if follows_in or "dose" in earlier or before == "ratio":
                    named.name = "time"
            elif named.amount.dimension == "" and before == "dose" and not self._pair_of_two(index):
                named.doubt = DRINK_OR_TIME

    def _pair_of_two(self, index: int) -> bool:
        """Name "18 in, 36, 27 s": the bare number between dose and time is the yield."""
        following = self.named[index + 1] if index + 1 < len(self.named) else None
        dose = self.named[index - 1].amount.value
        fits = _USUAL_RATIO[0] <= self.named[index].amount.value / dose <= _USUAL_RATIO[1] if dose > 0 else False
        joined = self.scene.reading.word(self.named[index].amount.first - 1) in {"->", "to", "/", "-"}
        timed = following is not None and following.name == "time" and self._near(following, self.named[index])
        if fits and (timed or joined):
            self.named[index].name = "yield"
            return True
        return False

    def _near(self, one: Named, other: Named) -> bool:
        return self.scene.reading.same_sentence(one.amount.core, other.amount.core)

    def _is_triple(self, three: list[Named]) -> bool:
        """Tell whether three numbers in a row are dose, yield and time in the usual order."""
        if len(three) < 3 or any(one.doubt for one in three):
            return False
        dose, drink, time = (one.amount for one in three)
        fits = [one.name in {"", name} for one, name in zip(three, ("dose", "yield", "time"), strict=False)]
        units = [dose.dimension in {"", "mass"}, drink.dimension in {"", "mass"}, time.dimension in {"", "time"}]
        close = drink.first - dose.last <= 3 and time.first - drink.last <= 3 and self._near(three[0], three[2])
        sizes = SAID["dose"].low <= dose.low and dose.high <= SAID["dose"].high and 5 <= time.low and time.high <= 120
        return all(fits) and all(units) and close and sizes and self._ratio_fits(dose, drink)

    def _ratio_fits(self, dose: Amount, drink: Amount) -> bool:
        return _USUAL_RATIO[0] * dose.value <= drink.value <= _USUAL_RATIO[1] * dose.value

    def _by_size(self, named: Named) -> None:
        """Name a mass by its size, and a bare number "36 in 27" before a time; doubt the rest."""
        amount = named.amount
        index = self.named.index(named)
        following = self.named[index + 1] if index + 1 < len(self.named) else None
        in_time = self.scene.reading.word(amount.last + 1) == "in" and following is not None
        if amount.dimension == "mass":
            known = {one.name for one in self.named if one is not named and self._near(one, named)}
            between = "yield" if ("dose" in known or in_time) else "dose" if "yield" in known else ""
            named.name = "dose" if amount.high <= LARGEST_DOSE else "yield" if amount.low >= SMALLEST_DRINK else between
            if named.name == "dose" and "dose" in known and in_time:
                named.name = "yield"
            named.doubt = "" if named.name else DOSE_OR_DRINK
        elif in_time and following is not None and amount.low >= SMALLEST_DRINK and following.name in {"", "time"}:
            named.name = "yield"
            if not following.name and following.amount.dimension == "":
                following.name, following.doubt = "time", ""
        else:
            named.doubt = WHICH_UNIT

    def _as_asked(self, named: Named) -> None:
        """Let an open question about a number settle what an unclear number means."""
        if not self.asked:
            return
        amount, wanted = named.amount, SAID[self.asked]
        unit = amount.unit or UNITS.get(_USUAL.get(wanted.unit, wanted.unit))
        same = amount.unit is None or amount.dimension == _DIMENSION_OF.get(wanted.unit)
        if same and unit is not None and wanted.low <= unit.canonical(amount.value) <= wanted.high:
            named.name, named.doubt, named.unit = self.asked, "", unit


MILK_DENSITY = 1.03  # g/mL; FAO/INFOODS Density Database, version 2 (2012), cow milk, from memory

_BARE: Mapping[str, str] = {
    "dial": "dial",
    "dose": "dose",
    "yield": "yield",
    "time": "time",
    "first_drops": "first_drops",
    "pressure": "pressure",
    "tds": "tds",
}
_USUAL = {"degC": "c", "mg/L": "ppm", "mL": "ml", "g/s": "gps", "ratio": "ratio"}
_DIMENSION_OF = {
    "g": "mass", "s": "time", "degC": "temperature", "bar": "pressure", "mg/L": "content", "mL": "volume",
    "days": "days", "%": "percent", "notch": "notch", "g/s": "rate", "ratio": "ratio",
}  # fmt: skip

_BY_DIMENSION = {
    "": Namer._bare,
    "mass": Namer._mass,
    "ounce": Namer._ounce,
    "volume": Namer._volume,
    "time": Namer._time,
    "temperature": Namer._temperature,
    "degree": Namer._temperature,
    "pressure": Namer._pressure,
    "content": Namer._content,
    "hardness": Namer._hardness,
    "percent": Namer._percent,
    "days": Namer._days,
    "notch": Namer._notch,
    "rate": Namer._rate,
    "ratio": Namer._ratio,
    "unused": Namer._unused,
}
