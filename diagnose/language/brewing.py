"""Times of brewers that take minutes: press, hand pour, drip machine, moka pot."""

from diagnose.language.scene import Scene
from diagnose.rulebase.vocabulary import BREW_TIME, MEASURES, Measure

_LONGEST_SHOT_S = 300.0  # a longer time is no shot unless a word says so
_LONGEST_BREW_S = 3600.0  # with a brewer that takes minutes; up to here a time is one, though perhaps no likely one
_BREW_RATIO = (10.0, 22.0)  # water over coffee of a brewer; between, "1:16" may be one (common practice, no source)


def longest_s(scene: Scene) -> float:
    """Return up to how many seconds a time that no word names is the time of the coffee."""
    return _LONGEST_BREW_S if scene.brewer in BREW_TIME else _LONGEST_SHOT_S


def clock_s(scene: Scene, left: float, right: float) -> float | None:
    """Return "4:30" in seconds where the brewer takes minutes; None where it may be a ratio, such as "1:16"."""
    may_be_ratio = left == 1.0 and _BREW_RATIO[0] <= right <= _BREW_RATIO[1]
    if scene.brewer not in BREW_TIME or may_be_ratio or not left or not right:
        return None
    return 60.0 * left + right


def believable(scene: Scene, name: str) -> Measure:
    """Return what is believable for a measure; a time is judged by the brewer spoken of, if it takes minutes."""
    of_time = name in {"time", "recipe_time"}
    return BREW_TIME.get(scene.brewer, MEASURES[name]) if of_time else MEASURES[name]
