"""The answer to a text about a jug of milk: water from steam, air, when to shut the steam, time, volume, the drink."""

from diagnose.report.answer import Answer
from diagnose.report.digits import Figure, plain
from diagnose.report.milk_figures import ASSUMED_BAR, ESPRESSO_DEGC, WET_DRYNESS, Drink, Jug, reckon
from diagnose.report.milk_reading import JugSaid
from diagnose.science.milk.safety import COLD_HOLD_MAX_DEGC
from diagnose.science.milk.texturing import SERVING_DEGC, shut_steam_at_degc
from diagnose.science.steam import boiling_point_degc

NEVER_AGAIN = "What has been steamed once is drunk or thrown away, never steamed again."
KEPT_COLD = f"Milk waits for its turn at {plain(COLD_HOLD_MAX_DEGC)} °C or below; the local food code decides."
LEAST = "What jug and air take up comes on top, so this is the least."
TIME_HINT = "Tell how long it took to a temperature, such as “30 s to 40 C”, and the times can be told."


def answer(said: JugSaid) -> Answer:
    """Return the answer for a jug; raises OutOfRange as `reckon`."""
    jug, told = reckon(said), Answer("milk")
    told.block(*_heard(told, said))
    told.block(*_steam_lines(said, jug), *_wet_lines(said, jug))
    told.block(*_working_lines(said, jug))
    told.block(*_volume_lines(jug))
    if jug.drink is not None:
        told.block(*_drink_lines(said, jug, jug.drink))
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
    return [
        f"Water from steam: {jug.condensate_g.shown} g, which is {jug.percent_of_final.shown} % of the "
        f"{jug.final_g.shown} g then in the jug ({jug.percent_of_milk.shown} % of the milk).",
        f"  The milk takes up {jug.heat_kj.shown} kJ from steam of {steam}. {LEAST}",
    ]
