"""Everything there is to say about one jug of milk, as plain values a command can print or serialise."""

from dataclasses import dataclass

from diagnose.model import Range
from diagnose.science.milk.heat import HeatBalance, Steaming, heat_balance, wet_steam_extra_g
from diagnose.science.milk.safety import (
    COLD_HOLD_MAX_DEGC,
    COOKED_FROM_DEGC,
    COOL_TIME_CONTROL_MAX_DEGC,
    TIME_CONTROL_HOURS,
    scald_time,
)
from diagnose.science.milk.texturing import (
    Progress,
    TexturingWindow,
    seconds_at_rate,
    seconds_until,
    shut_steam_at_degc,
    texturing_window,
)
from diagnose.science.steam import SaturatedSteam


@dataclass(frozen=True, slots=True)
class MilkTimes:
    """Seconds from opening the steam: until air should be in, and until the milk is at its final temperature."""

    air_s: float
    total_s: float


@dataclass(frozen=True, slots=True)
class MilkReport:
    """One steaming reckoned through; `dataclasses.asdict` gives it as plain dicts, lists and numbers.

    `times` is None when no rate and no progress was given; `shut_steam` is None for targets outside 40 to 80 degC.
    """

    jug: Steaming
    steam: SaturatedSteam
    balance: HeatBalance
    wet_steam_extra_g: float
    window: TexturingWindow
    shut_steam: Range | None
    times: MilkTimes | None
    cautions: tuple[str, ...]


def _times(
    jug: Steaming, window: TexturingWindow, seen: Progress | None, rate_degc_s: float | None
) -> MilkTimes | None:
    """Return the times from what was seen, or else from the rate, or None."""
    if seen is not None:
        return MilkTimes(seconds_until(jug, seen, window.air_until_degc), seconds_until(jug, seen, jug.stop_degc))
    if rate_degc_s is not None:
        total = seconds_at_rate(jug.start_degc, jug.stop_degc, rate_degc_s)
        return MilkTimes(total * window.air_percent / 100.0, total)
    return None


def _cautions(jug: Steaming) -> tuple[str, ...]:
    """Return the warnings this jug calls for, the hottest first."""
    said = ["Steam and the wand scald at once: tip under the milk before opening, cloth in hand, wand pointed away."]
    scald = scald_time(jug.stop_degc)
    if scald is not None and scald.second_degree_s <= 30.0:
        said.append(
            f"Liquid at {jug.stop_degc:g} degC scalds an adult's skin in about {scald.second_degree_s:g} s, "
            "a child's sooner."
        )
    if jug.stop_degc > COOKED_FROM_DEGC:
        said.append(f"Beyond about {COOKED_FROM_DEGC:g} degC the milk tastes more and more cooked.")
    if jug.start_degc >= COOL_TIME_CONTROL_MAX_DEGC:
        said.append(
            f"Milk at {jug.start_degc:g} degC is a question of throwing it away first: cold holding ends at "
            f"{COLD_HOLD_MAX_DEGC:g} degC. Do not steam the same milk twice."
        )
    elif jug.start_degc > COLD_HOLD_MAX_DEGC:
        said.append(
            f"Milk is kept at {COLD_HOLD_MAX_DEGC:g} degC or below; once out, it has {TIME_CONTROL_HOURS:g} h at most "
            "under a written procedure. The local food code decides."
        )
    return tuple(said)


def milk_report(jug: Steaming, seen: Progress | None = None, rate_degc_s: float | None = None) -> MilkReport:
    """Return the report for a jug, with times when progress so far or a heating rate (degC per second) is known.

    Raises OutOfRange for impossible progress or rate; the jug has checked itself.
    """
    window = texturing_window(jug.start_degc, jug.stop_degc)
    shut = shut_steam_at_degc(jug.stop_degc) if 40.0 <= jug.stop_degc <= 80.0 else None
    times = _times(jug, window, seen, rate_degc_s)
    return MilkReport(jug, jug.steam(), heat_balance(jug), wet_steam_extra_g(jug), window, shut, times, _cautions(jug))
