"""What a number is a number of, by its unit and the words beside it.

Where these leave it open, the number is not guessed here: it stays without a name for `ordering`, or it gets a doubt,
a reason that asks for what is missing.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace

from diagnose.language import doubts
from diagnose.language.amounts import Amount
from diagnose.language.brewing import clock_s, longest_s
from diagnose.language.context import is_next_time
from diagnose.language.cues import Cues
from diagnose.language.milk import LEAST_STOP_C, bare_unit, is_jug, is_stop
from diagnose.language.scene import Scene
from diagnose.language.several import moved_to, with_shared_unit
from diagnose.language.units import CACO3_OVER_HCO3, CELSIUS, FLUID_OUNCE, GERMAN_DEGREE, SECOND, Unit
from diagnose.rulebase.vocabulary import SAID

MILK_DENSITY = 1.03  # g/mL of cow milk; FAO/INFOODS Density Database 2.0 (2012), from memory


_MOST_LABELS = 7.0  # numbers of groups, heads and grinders stay below
_MOST_KEPT_G = 10.0  # a grinder said to keep more needs the plain word (common practice, no source)
_BREWING = 80.0  # degC from which a temperature is the brewing water's (common practice, no source)
_MOST_OUNCES_OF_DOSE, _LEAST_OUNCES_OF_DRINK = 0.95, 1.3


@dataclass(slots=True)
class Named:
    """An amount with the name of its measure, or with the doubt that keeps it from being used.

    `unit` is the unit it is taken in where that is not simply the one written; `factor` turns it into the measure;
    `beside` are the places of the words that name it.
    """

    amount: Amount
    name: str = ""
    doubt: str = ""
    unit: Unit | None = None
    factor: float = 1.0
    beside: frozenset[int] = frozenset()

    def span(self) -> tuple[int, int]:
        """Return the first and last place of the amount with the naming words right beside it."""
        first, last = self.amount.first, self.amount.last
        while first - 1 in self.beside:
            first -= 1
        while last + 1 in self.beside:
            last += 1
        return first, last


@dataclass(slots=True)
class _Work:
    """What naming one amount may look at: the words around it and what the amounts before it were."""

    scene: Scene
    cues: Cues
    named: list[Named] = field(default_factory=list)
    poured: bool = False  # whether any amount may be a dose or a yield

    def word_after(self, index: int) -> str:
        return self.scene.reading.word(self.cues.amounts[index].last + 1)

    def is_about_milk(self) -> bool:
        """Tell whether the text speaks of milk and of no shot beside it."""
        return self.scene.speaks_of("milk") and not self.scene.speaks_of_a_shot and not self.poured

    def before(self, index: int) -> str:
        """Return the name of the amount before, "" where there is none."""
        return self.named[index - 1].name if index else ""


_Way = Callable[[_Work, int, Amount], Named]


def name_amounts(scene: Scene, amounts: list[Amount]) -> list[Named]:
    """Return the amounts with the names their units and the words beside them give."""
    amounts = with_shared_unit(scene, amounts)
    poured = any(one.dimension in {"", "mass", "ratio"} for one in amounts)
    work = _Work(scene, Cues(scene, amounts), poured=poured)
    for index, amount in enumerate(amounts):
        if scene.is_one_of(amount.first - 1, "negators") and scene.reading.word(amount.first - 1) != "no":
            work.named.append(Named(amount, doubt=doubts.DENIED))
        elif amount.means:
            work.named.append(Named(amount, amount.means))
        elif amount.bare_pair:
            work.named.append(_bare_pair(scene, amount))
        else:
            one = _BY_DIMENSION[amount.dimension](work, index, amount)
            one.beside = frozenset(work.cues.found.get(index, ()))
            work.named.append(one)
    return work.named


def _bare_pair(scene: Scene, amount: Amount) -> Named:
    """Read "4:30" of a brewer that takes minutes as a time."""
    seconds = clock_s(scene, amount.low, amount.high)
    if seconds is None:
        return Named(amount, doubt=doubts.RATIO_OR_TIME)
    return Named(replace(amount, low=seconds, high=seconds, unit=SECOND, bare_pair=False), "time")


def _mass(work: _Work, index: int, amount: Amount) -> Named:
    cue = work.cues.nearest(index, (*_MASS_CUES, *_kept_cues(work, amount)))
    if cue == "basket" and work.word_after(index) not in {"in", "into"}:
        return Named(amount, "basket_size")
    if cue == "water":
        return _water_flow(work, index, amount)
    if cue == "unused":
        return Named(amount, doubt=doubts.UNUSED)
    if cue == "dose" and _gives_back_in(work, index, amount):
        return Named(amount)
    of_jug = not cue and is_jug(work.scene, amount.core, amount.size)
    return Named(amount, "milk_mass" if of_jug else _MASSES.get(cue, ""))


def _kept_cues(work: _Work, amount: Amount) -> tuple[str, ...]:
    """Return the words that may say what stays in the grinder; the vague ones only of so little as most keep."""
    grams = amount.unit.canonical(amount.high) if amount.unit else amount.high
    return _KEPT_CUES if work.scene.speaks_of("grinder") and grams <= _MOST_KEPT_G else _KEPT_CUES[:1]


def _gives_back_in(work: _Work, index: int, amount: Amount) -> bool:
    """Give back the "in" of "36 in 27": too much for a dose, so it belongs to what follows."""
    by_in = any(work.scene.reading.word(place) == "in" for place in work.cues.found.get(index, ()))
    if by_in and amount.high > SAID["dose"].high:
        work.cues.release(index)
        return True
    return False


def _water_flow(work: _Work, index: int, amount: Amount) -> Named:
    """Name water caught for ten seconds; water over another time cannot be compared."""
    after = work.cues.amounts[index + 1] if index + 1 < len(work.cues.amounts) else None
    seconds = after.unit.canonical(after.value) if after and after.unit and after.dimension == "time" else None
    return Named(amount, "water_flow") if seconds == 10.0 else Named(amount, doubt=doubts.TEN_SECONDS)


def _ounce(work: _Work, index: int, amount: Amount) -> Named:
    """Tell ounces of coffee (weight) from ounces in the cup (volume)."""
    cue = work.cues.nearest(index, ("dose", "yield", "cup", "basket", "milk", "water", "unused"))
    if cue in {"dose", "basket"} or (not cue and amount.value < _MOST_OUNCES_OF_DOSE):
        return Named(amount, "dose")
    if cue or amount.value >= _LEAST_OUNCES_OF_DRINK:
        return _poured(work, index, replace(amount, unit=FLUID_OUNCE), cue)
    return Named(amount, doubt=doubts.DOSE_OR_DRINK)


def _volume(work: _Work, index: int, amount: Amount) -> Named:
    return _poured(work, index, amount, work.cues.nearest(index, ("yield", "cup", "milk", "water", "unused")))


def _poured(work: _Work, index: int, amount: Amount, cue: str) -> Named:
    """Name a volume: milk, the size of a cup, or the drink."""
    if cue == "milk" or (not cue and is_jug(work.scene, amount.core, amount.size)):
        return Named(amount, "milk_mass", factor=MILK_DENSITY)
    if cue in {"water", "unused"}:
        return Named(amount, doubt=doubts.UNUSED)
    is_size = cue == "cup" and work.word_after(index) not in {"in", "into", "out"}
    return Named(amount, "cup_volume" if is_size else "yield_volume")


def _time(work: _Work, index: int, amount: Amount) -> Named:
    if work.before(index) == "water_flow" or (index and work.named[index - 1].doubt == doubts.TEN_SECONDS):
        return Named(amount, doubt=doubts.WATER_TEST)
    if amount.ends_at is not None and work.scene.is_one_of(amount.first - 1, "moving_words"):
        amount = replace(amount, low=amount.ends_at, high=amount.ends_at)  # "went from 19 to 28 s"
    cue = work.cues.nearest(index, ("first_drops", "milk", "grinding", "other_time", "unused", "time"))
    seconds = amount.unit.canonical(amount.value) if amount.unit else amount.value
    if cue in {"grinding", "other_time", "unused"} or (seconds > longest_s(work.scene) and cue != "time"):
        return Named(amount, doubt=doubts.STRETCH)
    milk = work.cues.near(index, "milk") and not work.cues.near(index, "yield", "dose")
    steaming = cue == "milk" or (cue != "first_drops" and milk)
    steaming = steaming or (not cue and work.before(index) in {"milk_temperature", "milk_mass"})
    if any(work.scene.is_one_of(place, "settling_words") for place in range(amount.first - 3, amount.first)):
        return Named(amount, doubt=doubts.STRETCH)  # "the foam collapses after 30 s"
    steaming = steaming or (cue != "first_drops" and work.is_about_milk())
    return Named(amount, "milk_time" if steaming else "first_drops" if cue == "first_drops" else "time")


def _temperature(work: _Work, index: int, amount: Amount) -> Named:
    unit = amount.unit
    if unit is None or unit.dimension == "degree":
        unit = bare_unit(amount.value)
    cue = work.cues.nearest(index, ("milk", "brew", "unused"))
    degrees = unit.canonical(amount.value)
    if cue == "unused":
        return Named(amount, doubt=doubts.UNUSED)
    if cue == "milk" or work.before(index) == "milk_start":
        starts = work.cues.near(index, "start") and degrees <= SAID["milk_start"].high and not work.before(index)
        return Named(amount, "milk_start" if starts else "milk_temperature", unit=unit)
    if cue == "brew" or degrees >= _BREWING:
        return Named(amount, "brew_temperature", unit=unit)
    if work.scene.speaks_of("milk"):
        cold = degrees < SAID["milk_temperature"].low
        return Named(amount, "milk_start" if cold else "milk_temperature", unit=unit)
    return Named(amount, doubt=doubts.MILK_OR_WATER, unit=unit)


def _pressure(work: _Work, index: int, amount: Amount) -> Named:
    cue = work.cues.nearest(index, ("boiler", "milk", "rating", "unused", "pressure"))
    if cue in {"rating", "unused"}:
        return Named(amount, doubt=doubts.PUMP_RATING if cue == "rating" else doubts.UNUSED)
    low = amount.unit is not None and amount.unit.canonical(amount.value) <= SAID["boiler_pressure"].high
    boiler = cue in {"boiler", "milk"} or (low and work.cues.near(index, "boiler"))
    boiler = boiler or (low and work.scene.speaks_of("milk") and not work.scene.speaks_of_a_shot)
    return Named(amount, "boiler_pressure" if boiler else "pressure")


def _content(work: _Work, index: int, amount: Amount) -> Named:
    cue = work.cues.nearest(index, ("alkalinity", "bicarbonate", "hardness", "tds", "unused"))
    if cue == "bicarbonate":
        return Named(amount, "water_alkalinity", factor=CACO3_OVER_HCO3)
    known = {"alkalinity": "water_alkalinity", "hardness": "water_hardness", "tds": "water_tds"}
    return (
        Named(amount, known[cue]) if cue in known else Named(amount, doubt=doubts.UNUSED if cue else doubts.WATER_WHICH)
    )


def _hardness(work: _Work, index: int, amount: Amount) -> Named:
    cue = work.cues.nearest(index, ("alkalinity", "hardness"))
    carbonate = cue == "alkalinity" or work.scene.reading.word(amount.last) == "dkh"
    return Named(amount, "water_alkalinity" if carbonate else "water_hardness")


def _percent(work: _Work, index: int, amount: Amount) -> Named:
    cue = work.cues.nearest(index, ("tds", "extraction", "unused"))
    return (
        Named(amount, doubt=doubts.UNUSED if cue else doubts.PERCENT_OF_WHAT)
        if cue in {"", "unused"}
        else Named(amount, cue)
    )


def _days(work: _Work, index: int, amount: Amount) -> Named:
    cue = work.cues.nearest(index, ("roasted", "opened", "care"))
    if cue == "opened":
        between = range(max(work.cues.found[index]) + 1, amount.first)
        of_bag = work.scene.are_all(between, "bag_words", "articles", "fillers", "bridge_words")
        return Named(amount, "days_open") if of_bag else Named(amount, doubt=doubts.STRETCH)
    old = work.scene.is_one_of(amount.last + 1, "age_words")
    return Named(amount, "bean_age") if cue == "roasted" or (old and not cue) else Named(amount, doubt=doubts.STRETCH)


def _notch(work: _Work, index: int, amount: Amount) -> Named:
    named = work.cues.nearest(index, ("dial",)) and not work.cues.near(index, "moved")
    return Named(amount, "dial") if named else Named(amount, doubt=doubts.MOVED)


def _bare(work: _Work, index: int, amount: Amount) -> Named:
    """Name a number without unit where a word beside it says what it is and so in which unit."""
    if work.scene.is_one_of(amount.last + 1, "counted") or _is_label(work, amount):
        return Named(amount, doubt=doubts.COUNT)
    if is_stop(work.scene, amount.first, amount.value):
        work.scene.claim(range(amount.first, amount.core))
        end = replace(amount, first=amount.core, low=amount.value, high=amount.value)  # "up to 60" is no open range
        return Named(end, "milk_temperature", unit=bare_unit(amount.value))
    cue = work.cues.nearest(index, (*_IN_USUAL_UNIT, *_BARE_BY_CUE))
    if work.scene.is_one_of(amount.first - 1, "setting_to"):
        cue = moved_to(work.scene, amount.first) or cue
    if cue in _BARE_BY_CUE:
        return _BARE_BY_CUE[cue](work, index, amount)
    if cue in {"time", "yield"}:
        return _bare_of_shot(work, index, amount, cue)
    alone = amount.first == 0 and work.scene.size == amount.last + 1
    if alone and is_next_time(work.scene.context, amount.value):
        return Named(replace(amount, unit=SECOND, implied=True), "time")
    nameless = not cue or (cue == "dose" and _gives_back_in(work, index, amount))
    return Named(amount) if nameless else _in_usual_unit(cue, amount)


def _bare_of_shot(work: _Work, index: int, amount: Amount, cue: str) -> Named:
    """Name a number beside a word for time or yield, which may still be a temperature or an extraction yield."""
    if cue == "time" and _is_brew_temperature(work, index, amount):
        return _temperature(work, index, replace(amount, unit=CELSIUS))
    if cue == "time" and work.scene.speaks_of("milk") and not work.scene.speaks_of_a_shot:
        return _bare_of_milk(work, index, amount)
    if cue == "yield" and any(work.scene.reading.word(place - 1) == "extraction" for place in work.cues.found[index]):
        return Named(amount, "extraction")  # "extraction yield 19.5"
    if cue == "yield" and all("time" in work.cues.at(place) for place in work.cues.found[index]):
        return Named(amount)  # "shot 22": grams or seconds
    return _in_usual_unit(cue, amount)


def _is_brew_temperature(work: _Work, index: int, amount: Amount) -> bool:
    """Tell whether "brew 93" is a temperature: the word right before a number no espresso takes in seconds."""
    beside = work.scene.reading.word(amount.first - 1) == "brew" and work.cues.found.get(index) == {amount.first - 1}
    return beside and _BREWING <= amount.low <= amount.high < 100.0


def _is_label(work: _Work, amount: Amount) -> bool:
    """Tell whether a small number only says which of several: "group 2 runs slow"."""
    whole = amount.low == amount.high and amount.low.is_integer()
    return whole and amount.high < _MOST_LABELS and work.scene.is_one_of(amount.first - 1, "labelled")


def _bare_of_milk(work: _Work, index: int, amount: Amount) -> Named:
    """Tell the temperature of "stop at 70" from the seconds of "takes 50", where only milk is spoken of."""
    stopped = any(work.scene.is_one_of(place, "stop_words") for place in work.cues.found.get(index, ()))
    unit = bare_unit(amount.value)
    fits = LEAST_STOP_C <= unit.canonical(amount.value) <= SAID["milk_temperature"].high
    return Named(amount, "milk_temperature", unit=unit) if stopped and fits else Named(amount, "milk_time")


def _bare_ratio(_work: _Work, _index: int, amount: Amount) -> Named:
    """Read "a ratio of 1 to 2.5"."""
    return Named(replace(amount, low=amount.high), "ratio") if amount.low == 1.0 < amount.high else Named(amount)


def _bare_degree(name: str) -> _Way:
    """Return how a bare number beside a word for hardness is read: "KH 9" in German degrees, others not at all."""

    def named(work: _Work, _index: int, amount: Amount) -> Named:
        is_degree = work.scene.reading.word(amount.first - 1) in {"kh", "gh"}
        return Named(amount, name, unit=GERMAN_DEGREE) if is_degree else Named(amount, doubt=doubts.WHICH_UNIT)

    return named


def _bare_basket(work: _Work, index: int, amount: Amount) -> Named:
    return Named(amount, "dose" if work.word_after(index) in {"in", "into"} else "basket_size")


def _bare_dial(work: _Work, _index: int, amount: Amount) -> Named:
    """Read "from 12 to 10" as a dial that now stands at 10."""
    moved = amount.ends_at is not None and work.scene.reading.word(amount.first) == "from"
    at = amount.ends_at if moved and amount.ends_at is not None else None
    return Named(amount if at is None else replace(amount, low=at, high=at), "dial")


def _in_usual_unit(cue: str, amount: Amount) -> Named:
    """Return the amount in the unit people leave out, if its size fits no other."""
    return Named(amount, cue) if amount.high <= _IN_USUAL_UNIT[cue] else Named(amount, doubt=doubts.WHICH_UNIT)


def _fixed(name: str = "", doubt: str = "") -> _Way:
    """Return a way of naming that needs no look around."""

    def named(_work: _Work, _index: int, amount: Amount) -> Named:
        return Named(amount, name, doubt)

    return named


_KEPT_CUES = ("retained", "kept", "stays")
_MASS_CUES = ("dose", "yield", "cup", "basket", "milk", "water", "unused", "grinding")

_MASSES: Mapping[str, str] = {
    "dose": "dose", "basket": "dose", "grinding": "dose", "yield": "yield", "cup": "yield", "milk": "milk_mass",
    **dict.fromkeys(_KEPT_CUES, "retained"),
}  # fmt: skip

# Measures whose unit people leave out, and the size above which it would be another unit.
_IN_USUAL_UNIT: Mapping[str, float] = {
    "dose": float("inf"),
    "yield": float("inf"),
    "time": float("inf"),
    "first_drops": float("inf"),
    "pressure": SAID["pressure"].high,
    "tds": 20.0,
}

_BARE_BY_CUE: Mapping[str, _Way] = {
    "dial": _bare_dial,
    "brew": _temperature,
    "ratio": _bare_ratio,
    "hardness": _bare_degree("water_hardness"),
    "alkalinity": _bare_degree("water_alkalinity"),
    "basket": _bare_basket,
    "cup": _fixed("yield"),
    "retained": _fixed(doubt=doubts.WHICH_UNIT),
    "kept": _fixed(doubt=doubts.WHICH_UNIT),
    "extraction_yield": _fixed("extraction"),
    "unused": _fixed(doubt=doubts.UNUSED),
}

_BY_DIMENSION: Mapping[str, _Way] = {
    "": _bare,
    "mass": _mass,
    "ounce": _ounce,
    "volume": _volume,
    "time": _time,
    "temperature": _temperature,
    "degree": _temperature,
    "pressure": _pressure,
    "content": _content,
    "hardness": _hardness,
    "percent": _percent,
    "days": _days,
    "notch": _notch,
    "rate": _fixed("flow_rate"),
    "ratio": _fixed("ratio"),
    "unused": _fixed(doubt=doubts.UNUSED),
}
