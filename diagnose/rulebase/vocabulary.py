"""The closed vocabulary rule files are written in: grades, prior words, measures, variables.

Anything a rule file names is either defined by another rule file or stands here.
"""

from typing import NamedTuple

# Grades of evidence in decibans (10 log10 of a likelihood ratio). Ratios of 2, 5 and 10 move a probability by about
# 15, 30 and 45 points: McGee, Simplifying likelihood ratios, J Gen Intern Med 17:646 (2002). "decisive" is for what
# was seen or weighed directly.
GRADES: dict[str, float] = {
    "slight": 3.0,
    "moderate": 7.0,
    "strong": 10.0,
    "very strong": 15.0,
    "decisive": 20.0,
    "neutral": 0.0,
    "slight against": -3.0,
    "moderate against": -7.0,
    "strong against": -10.0,
    "very strong against": -15.0,
    "decisive against": -20.0,
}

# How often a cause is behind its complaint, as weights to be normalised.
PRIORS: dict[str, float] = {
    "very common": 8.0,
    "common": 4.0,
    "occasional": 2.0,
    "rare": 1.0,
    "very rare": 0.25,
    "never": 0.0,
}

COMPLAINTS = ("shot", "milk", "machine", "water", "brew")

# What an adjustment can move; two causes on one variable in opposite directions exclude each other.
VARIABLES: dict[str, tuple[str, str]] = {
    "grind": ("finer", "coarser"),
    "dose": ("more", "less"),
    "yield": ("longer", "shorter"),
    "temperature": ("hotter", "cooler"),
    "pressure": ("higher", "lower"),
    "bean_age": ("older", "fresher"),
    "mineral": ("more", "less"),
    "milk_air": ("more", "less"),
    "milk_temperature": ("hotter", "cooler"),
    "milk_share": ("more", "less"),
}


class Measure(NamedTuple):
    """One number a rule may test: canonical unit, plausible range, and what it is."""

    unit: str
    low: float
    high: float
    what: str


# What a person can state. `low` and `high` bound what is taken seriously; outside, the reply says so and asks again.
SAID: dict[str, Measure] = {
    "dose": Measure("g", 5, 30, "ground coffee in the basket"),
    "yield": Measure("g", 3, 150, "espresso in the cup, weighed"),
    "yield_volume": Measure("mL", 5, 300, "espresso in the cup by volume, crema included"),
    "time": Measure("s", 1, 180, "length of the shot"),
    "first_drops": Measure("s", 0, 60, "time to the first drops"),
    "ratio": Measure("ratio", 0.5, 8, "grams out for one gram in"),
    "flow_rate": Measure("g/s", 0.05, 15, "flow at the moment of stopping"),
    "tds": Measure("%", 0.5, 25, "dissolved solids in the cup"),
    "extraction": Measure("%", 10, 28, "extraction yield, the share of the coffee that dissolved"),
    "pressure": Measure("bar", 0, 20, "brew pressure on the gauge"),
    "brew_temperature": Measure("degC", 60, 105, "brew water temperature"),
    "dial": Measure("notch", -100, 1000, "number on the grinder's dial"),
    "retained": Measure("g", 0, 20, "ground coffee that stays in the grinder"),
    "bean_age": Measure("days", 0, 1500, "days since roast"),
    "days_open": Measure("days", 0, 1500, "days since the bag was opened"),
    "basket_size": Measure("g", 5, 30, "rated dose of the basket"),
    "water_hardness": Measure("mg/L", 0, 1500, "total hardness as CaCO3"),
    "water_alkalinity": Measure("mg/L", 0, 1500, "alkalinity as CaCO3"),
    "water_tds": Measure("mg/L", 0, 5000, "dissolved solids of the water"),
    "water_flow": Measure("g", 0, 400, "water with no coffee in, weighed over ten seconds"),
    "milk_mass": Measure("g", 20, 1500, "milk in the jug"),
    "milk_start": Measure("degC", 0, 40, "milk before steaming"),
    "milk_temperature": Measure("degC", 20, 100, "milk when steaming stopped"),
    "milk_time": Measure("s", 1, 300, "time of steaming"),
    "boiler_pressure": Measure("bar", 0, 3, "steam boiler gauge pressure"),
    "cup_volume": Measure("mL", 20, 600, "size of the cup"),
}

# The time of a brew, where it is made with something else than an espresso machine (common practice, no source: wide
# around press 4 minutes, hand pour 2.5 to 4, a pot from a drip machine 4 to 8, a moka pot 3 to 8).
BREW_TIME: dict[str, Measure] = {
    "press": Measure("s", 20, 1800, "time of the water on the coffee in the press"),
    "pour": Measure("s", 20, 900, "time of the hand pour, drawdown included"),
    "drip": Measure("s", 30, 1800, "time of the drip machine"),
    "moka": Measure("s", 20, 1200, "time of the moka pot on the stove"),
}

RECIPE: dict[str, Measure] = {
    "recipe_dose": SAID["dose"],
    "recipe_yield": SAID["yield"],
    "recipe_time": SAID["time"],
    "recipe_ratio": SAID["ratio"],
}

# What the program computes from the statements before rules are run; unlimited ranges.
DERIVED: dict[str, Measure] = {
    "time_ratio": Measure("ratio", 0, 100, "time at the recipe's yield over the recipe's time"),
    "time_z": Measure("sigma", -100, 100, "time at the recipe's yield against the recipe, in the person's own spread"),
    "dose_off": Measure("g", -30, 30, "dose minus the recipe's dose"),
    "dose_ratio": Measure("ratio", 0, 10, "dose over the recipe's dose"),
    "dose_over_basket": Measure("g", -30, 30, "dose minus the basket's rated dose"),
    "yield_ratio": Measure("ratio", 0, 50, "yield over the recipe's yield"),
    "brew_ratio": Measure("ratio", 0, 50, "yield over dose"),
    "first_drops_ratio": Measure("ratio", 0, 50, "first drops over what is usual here"),
    "time_change_z": Measure("sigma", -100, 100, "this shot's time against the one before, in the person's own spread"),
    "time_spread": Measure("s", 0, 100, "the person's own standard deviation of shot time"),
    "same_side": Measure("count", 0, 10000, "shots in a row, this one included, beyond two sigma on one side"),
    "alike": Measure("count", 0, 10000, "shots at one setting that are compared, this one included"),
    "repeat_off": Measure("sigma", 0, 1000, "this shot's time against the mean of the others at its setting"),
    "scatter_ratio": Measure("ratio", 0, 1000, "spread of the shots at one setting over the usual spread"),
    "drift": Measure("sigma", 0, 1000, "how clear a steady change of the shots at one setting is"),
    "shift": Measure("sigma", 0, 1000, "how clear a sudden change of the shots at one setting is"),
    "shift_s": Measure("s", -1000, 1000, "how large that sudden change is"),
    "shots_told": Measure("count", 0, 10000, "how many shots have been told"),
}

MEASURES: dict[str, Measure] = {**SAID, **RECIPE, **DERIVED}
