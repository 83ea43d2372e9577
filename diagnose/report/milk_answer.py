"""The answer to a text about a jug of milk: water from steam, air, when to shut the steam, time, volume, the drink."""

from diagnose.report.answer import Answer
from diagnose.report.digits import Figure, plain
from diagnose.report.milk_figures import ASSUMED_BAR, ESPRESSO_DEGC, WET_DRYNESS, Drink, Jug, reckon
from diagnose.report.milk_reading import JugSaid
from diagnose.report.milk_words import BOILER_ROLES
from diagnose.science.milk.safety import COLD_HOLD_MAX_DEGC
from diagnose.science.milk.texturing import SERVING_DEGC, Reading, shut_steam_at_degc
from diagnose.science.steam import boiling_point_degc

NEVER_AGAIN = "What has been steamed once is drunk or thrown away, never steamed again."
KEPT_COLD = f"Milk waits for its turn at {plain(COLD_HOLD_MAX_DEGC)} °C or below; the local food code decides."
LEAST = "What jug and air take up comes on top, so this is the least."
_PLANT = "Plant drinks are reckoned as milk, which they are close to."
_KIND_NOTES = {"skim": "Reckoned as skim milk.", "oat": _PLANT, "soy, almond or pea": _PLANT}
TIME_HINT = "Tell how long it took to a temperature, such as “30 s to 40 C”, and the times can be told."


def answer(said: JugSaid) -> Answer:
    """Return the answer for a jug; raises OutOfRange as `reckon`."""
    jug, told = reckon(said), Answer("milk")
    told.block(*_heard(told, said))
    told.block(*_steam_lines(said, jug), *_wet_lines(said, jug))
    told.block(*_working_lines(said, jug))
    told.block(*_volume_lines(jug))
    if jug.drink is not None:
        told.block(*_drink_lines(said, jug.drink))
    told.listed("Taken for granted, or missing:", _notes(said, jug), "notes")
    told.listed("Cautions:", _cautions(jug), "cautions")
    _enter(told, said, jug)
    return told


def _heard(told: Answer, said: JugSaid) -> list[str]:
    """Return what was understood, and what was not used."""
    told.fields |= {"heard": list(said.heard), "not_used": list(said.not_used)}
    lines = [f"Heard: {', '.join(said.heard)}."]
    return [*lines, f"Not used: {', '.join(said.not_used)}."] if said.not_used else lines


def degrees(figure: Figure, *, fahrenheit: bool) -> str:
    """Return a temperature in the person's degrees, in Celsius too where those are Fahrenheit."""
    celsius = f"{figure.shown} °C"
    if not fahrenheit:
        return celsius
    return f"{Figure(figure.value * 1.8 + 32.0, figure.half * 1.8).shown} °F ({celsius})"


def _steam_lines(said: JugSaid, jug: Jug) -> list[str]:
    """Return how much water the steam leaves."""
    steam = degrees(jug.steam_degc, fahrenheit=said.fahrenheit)
    share = f"{jug.percent_of_final.shown} % of the {jug.final_g.shown} g then in the jug"
    return [
        f"Water from steam: {jug.condensate_g.shown} g, which is {share} ({jug.percent_of_milk.shown} % of the milk).",
        f"  The milk takes up {jug.heat_kj.shown} kJ from steam of {steam}. {LEAST}",
    ]


def _wet_lines(said: JugSaid, jug: Jug) -> list[str]:
    """Return what wet steam adds, or would add."""
    if jug.report.jug.dryness < 1.0:
        return [f"  {jug.wet_extra_g.shown} g of it is there only because the steam is wet: purge before steaming."]
    told = "How wet the steam is was not told: this is for dry steam" if said.wet else "That is for dry steam"
    wet = f"at a dryness of {plain(WET_DRYNESS)} it would be {jug.at_wet_g.shown} g"
    return [f"  {told}; {wet}. Purge before steaming."]


def _working_lines(said: JugSaid, jug: Jug) -> list[str]:
    """Return what to do with the wand, and when."""
    window, told_in = jug.report.window, said.fahrenheit
    until = degrees(Figure(window.air_until_degc, 0.5), fahrenheit=told_in)
    if window.air_degrees > 0.0:
        lines = [
            f"Air: take it in from the start until about {until} ({jug.air_percent.shown} % of the way), then roll."
        ]
    else:
        lines = [f"Air: none can be taken in well, as the milk starts at {until} already. Take cold milk."]
    if jug.report.shut_steam is not None:
        wand, dial = (_span(jug, told_in, by) for by in ("strong wand", "dial thermometer"))
        dial = f"by a dial thermometer at {dial}, since it lags"
        lines.append(f"Shut the steam at {wand}; {dial}. The milk goes on rising.")
    if jug.total_s is not None and jug.air_s is not None:
        stop = degrees(jug.stop_degc, fahrenheit=told_in)
        lines.append(f"Time: air until {jug.air_s.shown} s, {stop} after {jug.total_s.shown} s.")
    return lines


def _span(jug: Jug, fahrenheit: bool, reading: Reading) -> str:
    """Return the readings at which to shut the steam."""
    span = shut_steam_at_degc(jug.stop_degc.value, reading)
    low, high = (Figure(end, max(jug.stop_degc.half, 0.5)) for end in (span.low, span.high))
    if not fahrenheit:
        return f"{low.shown} to {degrees(high, fahrenheit=False)}"
    ends = " to ".join(Figure(end.value * 1.8 + 32.0, end.half).shown for end in (low, high))
    return f"{ends} °F ({low.shown} to {high.shown} °C)"


def _volume_lines(jug: Jug) -> list[str]:
    """Return how far the milk rises, and what of it is air."""
    liquid = f"{jug.liquid_growth_percent.shown} % from warmth and water"
    if jug.growth_percent is None or jug.air_growth_percent is None:
        return [f"Volume: {liquid}, before any air. Tell the volume in the end (“grew to 280 ml”) to know the air."]
    return [f"Volume: {jug.growth_percent.shown} % more than cold, {jug.air_growth_percent.shown} % air and {liquid}."]


def _drink_lines(said: JugSaid, drink: Drink) -> list[str]:
    """Return what milk and espresso make together."""
    espresso = said.figures["espresso_g"].shown
    at = degrees(said.figures.get("espresso_degc", ESPRESSO_DEGC), fahrenheit=said.fahrenheit)
    degc = degrees(drink.degc, fahrenheit=said.fahrenheit)
    made = f"Drink: all of it on {espresso} g of espresso at {at} makes {drink.mass_g.shown} g at {degc}"
    return [f"{made}, {drink.water_percent.shown} % of it water from steam. A cold cup takes some degrees more."]


def _notes(said: JugSaid, jug: Jug) -> list[str]:
    """Return what was assumed, and what would tell more."""
    notes = []
    if BOILER_ROLES.isdisjoint(said.figures):
        bar = f"{ASSUMED_BAR.value:.1f} bar"
        notes.append(f"No boiler pressure was told: {bar} on the gauge is taken. It matters little.")
    if jug.drink is not None and jug.drink.assumed_degc:
        notes.append("No temperature was told for the espresso: 67 °C in the cup is taken, a published value.")
    if jug.total_s is None:
        notes.append(TIME_HINT)
    altitude = said.figures.get("altitude_m")
    if altitude is not None:
        boiling = degrees(Figure(boiling_point_degc(altitude.value), 0.05), fahrenheit=said.fahrenheit)
        notes.append(f"At this altitude water boils at {boiling}; the boiler's gauge counts from the thinner air.")
    notes += _serving_notes(said, jug)
    if said.kind in _KIND_NOTES:
        notes.append(_KIND_NOTES[said.kind])
    return notes


def _serving_notes(said: JugSaid, jug: Jug) -> list[str]:
    """Return the remark that the milk stops outside what is usual, where it does beyond its last digit."""
    kind = said.kind if said.kind in SERVING_DEGC else "dairy"
    usual, stop = SERVING_DEGC[kind], jug.stop_degc
    if usual.low - stop.half <= stop.value <= usual.high + stop.half:
        return []
    ends = " to ".join(degrees(Figure(end, 0.5), fahrenheit=said.fahrenheit) for end in (usual.low, usual.high))
    side = "below" if stop.value < usual.low else "above"
    return [f"The milk stops {side} the usual {ends} for {kind} (common practice)."]


def _cautions(jug: Jug) -> list[str]:
    """Return what to beware of; the science's own sentences first."""
    said = [line.replace(" degC", " °C") for line in jug.report.cautions]
    if jug.start_degc.value <= COLD_HOLD_MAX_DEGC:
        said.append(KEPT_COLD)
    return [*said, NEVER_AGAIN]


def _enter(told: Answer, said: JugSaid, jug: Jug) -> None:
    """Enter everything into the flat object."""
    balance = {
        "milk_g": jug.milk_g,
        "start_degc": jug.start_degc,
        "stop_degc": jug.stop_degc,
        "boiler_bar_gauge": jug.gauge_bar,
        "steam_degc": jug.steam_degc,
        "heat_kj": jug.heat_kj,
        "condensate_g": jug.condensate_g,
        "condensate_percent_of_milk": jug.percent_of_milk,
        "condensate_percent_of_final": jug.percent_of_final,
        "final_mass_g": jug.final_g,
        "wet_steam_extra_g": jug.wet_extra_g,
        "air_percent_of_rise": jug.air_percent,
        "air_time_s": jug.air_s,
        "total_time_s": jug.total_s,
        "liquid_growth_percent": jug.liquid_growth_percent,
        "growth_percent": jug.growth_percent,
        "air_growth_percent": jug.air_growth_percent,
    }
    told.figures(balance)
    drink, steaming, shut = jug.drink, jug.report.jug, jug.report.shut_steam
    told.figures(
        {
            "espresso_g": said.figures.get("espresso_g"),
            "drink_g": drink.mass_g if drink else None,
            "drink_degc": drink.degc if drink else None,
            "drink_water_percent": drink.water_percent if drink else None,
        }
    )
    told.fields |= {
        "dryness": steaming.dryness,
        "altitude_m": steaming.altitude_m,
        "air_until_degc": jug.report.window.air_until_degc,
        "shut_steam_low_degc": round(shut.low, 1) if shut else None,
        "shut_steam_high_degc": round(shut.high, 1) if shut else None,
    }
