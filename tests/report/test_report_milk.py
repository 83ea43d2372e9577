"""A jug of milk: what is read from the text, what is asked for, and what the answer holds."""

import json

import pytest

from diagnose.errors import DiagnoseError, OutOfRange
from diagnose.report.answer import Answer, Value
from diagnose.report.milk_answer import answer
from diagnose.report.milk_reading import read_jug
from diagnose.report.said import Asked

JUG = "200 g from 5 to 65 C at 1.0 bar gauge"


def ask(text: str) -> Answer:
    """Return the answer to a text."""
    return answer(read_jug(text))


def field(text: str, name: str) -> Value:
    """Return one field of the answer."""
    return ask(text).to_dict()[name]


def told(text: str) -> dict[str, float]:
    """Return what is read from a text."""
    return {role: round(one.value, 2) for role, one in read_jug(text).figures.items()}


# Steam heating, m_s (h_g - c_w T_f) = m c_p (T_f - T_0), with h_g by IAPWS-IF97 and milk at 3.93 kJ/(kg K): by hand.
@pytest.mark.parametrize(
    ("text", "condensate", "of_milk", "of_final"),
    [
        ("150 g from 4 to 60 C at 1.0 bar gauge", 13.45, 8.96, 8.23),
        ("150 g from 4 to 65 C at 1.0 bar gauge", 14.77, 9.85, 8.97),
        (JUG, 19.37, 9.69, 8.83),
        ("150 g from 20 to 60 C at 1.0 bar gauge", 9.60, 6.40, 6.02),
        (f"{JUG}, dryness 0.90", 21.30, 10.65, 9.63),
        ("200 g 5-65 C, 2.01 bar absolute", 19.37, 9.69, 8.83),
        ("200.0 g from 5.0 to 65.0 C, boiler at 120.4 C", 19.37, 9.69, 8.83),
    ],
)
def test_water_from_steam(text: str, condensate: float, of_milk: float, of_final: float) -> None:
    """Condensate in g and as a share, to the digits the numbers support."""
    found = ask(text).fields
    assert found["condensate_g"] == pytest.approx(condensate, abs=0.06)
    assert found["condensate_percent_of_milk"] == pytest.approx(of_milk, abs=0.06)
    assert found["condensate_percent_of_final"] == pytest.approx(of_final, abs=0.06)


def test_the_example_in_words() -> None:
    """19.4 g, 8.8 % of what is in the jug; air until 37 degC; shut two to three degrees early (common practice)."""
    text = ask(JUG).text
    assert "Water from steam: 19.4 g, which is 8.8 % of the 219 g then in the jug (9.7 % of the milk)." in text
    assert "takes up 47 kJ from steam of 120 °C" in text
    assert "until about 37 °C (53 % of the way)" in text
    assert "Shut the steam at 62 to 63 °C; by a dial thermometer at 60 to 62 °C" in text
    assert "at a dryness of 0.9 it would be 21.3 g" in text
    assert "degC" not in text


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        (JUG, {"milk_g": 200, "start_degc": 5, "stop_degc": 65, "boiler_bar": 1}),
        ("200g 5-65C @1.0bar(g)", {"milk_g": 200, "start_degc": 5, "stop_degc": 65, "boiler_bar": 1}),
        ("200 g 5 C 65 C", {"milk_g": 200, "start_degc": 5, "stop_degc": 65}),
        ("200 g from 5 C, 65 C", {"milk_g": 200, "start_degc": 5, "stop_degc": 65}),
        ("200 ml of milk 4C -> 60C", {"milk_ml": 200, "start_degc": 4, "stop_degc": 60}),
        ("7 oz milk from 40 F to 150 F at 15 psi",
         {"milk_g": 198.45, "start_degc": 4.44, "stop_degc": 65.56, "boiler_bar": 1.03}),
        (f"{JUG}, 30 s to 40 C", {"seen_s": 30, "seen_degc": 40}),
        (f"{JUG}, 40 C after 12 s", {"seen_s": 12, "seen_degc": 40}),
        (f"{JUG} in 28 s", {"seen_s": 28}),
        ("200 g from 5 C, stop at 65 C after 45 s", {"stop_degc": 65, "seen_s": 45}),
        ("65 C in 30 s, 200 g from 5 C", {"seen_s": 30, "seen_degc": 65, "stop_degc": 65}),
        ("200 g 5 C, 65 C took 30 s", {"start_degc": 5, "seen_s": 30, "stop_degc": 65}),
        (f"{JUG}, rose from 200 to 280 ml", {"final_ml": 280}),
        (f"{JUG}, 2 C/s", {"rate_degc_s": 2}),
        (f"{JUG}, 36 g espresso at 70 C", {"espresso_g": 36, "espresso_degc": 70}),
        (f"{JUG}, espresso 36 g 70 C", {"espresso_g": 36, "espresso_degc": 70}),
        (f"{JUG}, double shot 36 g", {"espresso_g": 36}),
        ("200 g milk and 36 g espresso from 5 to 65 C", {"milk_g": 200, "espresso_g": 36, "start_degc": 5}),
        (f"{JUG}, 90 % dry steam", {"dryness": 0.9}),
        (f"{JUG}, 10 % moisture", {"dryness": 0.9}),
        (f"{JUG}, altitude 1600 m", {"altitude_m": 1600}),
        (f"{JUG}, 5000 ft", {"altitude_m": 1524}),
        (f"{JUG}, grew to 280 ml", {"final_ml": 280}),
        (f"{JUG}, to 280 ml", {"final_ml": 280}),
        ("200 g from 5 to 65 C, boiler 124 C", {"boiler_degc": 124}),
        ("200 g from 5 to 65 C, 2 bara", {"boiler_absolute_bar": 2}),
    ],
)  # fmt: skip
def test_what_is_told(text: str, expected: dict[str, float]) -> None:
    """Each number finds its role by unit and words."""
    assert expected.items() <= told(text).items()


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("200 g from 5 to 65 at 1.0 bar", "Is 5 to 65 in °C or °F?"),
        ("200 g from 5 to 65 degrees", "°C or °F"),
        ("200 g from 5", "Is 5 in °C or °F?"),
        ("200 from 5 to 65 C", "Is 200 in g or mL?"),
        ("200 g from 5 to 65 C, boiler 1.2", "in bar or psi"),
        ("200 g from 5 to 65 C, 2 degrees per second", "°C or °F a second"),
        ("200 g 65 C", "where the milk starts or where it stops"),
        ("200 g 5 C 65 C 70 C", "where the milk starts or where it stops"),
        ("milk", "How much milk"),
        ("200 g to 65 C", "At which temperature does the milk start?"),
        ("200 g from 5 C", "To which temperature is it steamed?"),
        ("200 g milk, 300 g milk from 5 to 65 C", "two values for the jug of milk"),
        ("200 g from 5 C, 30 s to 40 C", "To which temperature is it steamed?"),
        ("200 g 5 to 6 C to 60 to 65 C", "two values for the starting temperature"),
    ],
)
def test_what_is_missing_is_asked_for(text: str, says: str) -> None:
    """No unit, no number and no doubt is settled by a guess."""
    with pytest.raises(Asked) as caught:
        ask(text)
    assert says in str(caught.value)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("200 g from 5 to 300 C", "0 to 95 °C"),
        ("200 g from 5 F to 300 F", "32 to 140 °F"),
        ("200 g from -5 to 65 C", "0 to 60 °C"),
        ("200 g from 50 to 40 C", "above 50"),
        ("-200 g from 5 to 65 C", "10 to 5000 g"),
        ("9 kg from 5 to 65 C", "0.01 to 5 kg"),
        (f"{JUG}, dryness 0.2", "0.5 to 1"),
        (f"{JUG}, 20 % dry", "50 to 100 %"),
        ("200 g from 5 to 65 C at 9 bar", "0 to 3 bar"),
        (f"{JUG}, 9000 m", "-430 to 5000 m"),
        ("200 g from 5 to 92 C, altitude 3000 m", "degC"),
        (f"{JUG}, grew to 150 ml", "final volume"),
        (f"{JUG}, 2 s to 5 C", "temperature seen"),
    ],
)
def test_what_cannot_be_is_refused_with_its_range(text: str, says: str) -> None:
    """Impossible numbers are refused in the unit they were told in where that can be."""
    with pytest.raises((OutOfRange, Asked)) as caught:
        ask(text)
    assert says in str(caught.value)


@pytest.mark.parametrize(
    ("text", "unused"),
    [
        (f"{JUG}, 3.5 % fat", ["3.5 % fat"]),
        (f"{JUG}, 36 g espresso, 250 ml cup", ["250 ml cup"]),
        (f"{JUG}, 30 ml espresso", ["30 ml espresso (tell the espresso in g)"]),
        (f"{JUG}, espresso at 9 bar", ["9 bar (not a pressure of steam)"]),
        (f"{JUG}, 1 jug, 2:1", ["1 jug", "2:1"]),
        (f"{JUG}, 30 s to 40 C, 45 s", ["45 s"]),
        (f"{JUG}, rose from 200 ml to 280 ml", ["200 (what the volume rose from)"]),
    ],
)
def test_every_number_is_used_or_named(text: str, unused: list[str]) -> None:
    """What has no part in the reckoning is said to have none."""
    said = ask(text)
    assert said.fields["not_used"] == unused
    assert "Not used:" in said.text


def test_times_from_what_was_seen() -> None:
    """30 s to 40 degC from 4: heat alone would make 50 s to 60, steam adds a little less; air by 33/36 of 30 s.

    By hand: 30 s x 56/36 = 46.7 s, and the last degrees take about 2 % longer each way.
    """
    found = ask("200 ml from 4 to 60 C at 1.2 bar, 30 s to 40 C").fields
    assert found["total_time_s"] == pytest.approx(47.5, abs=1.0)
    assert found["air_time_s"] == pytest.approx(27.4, abs=0.6)
    rate = ask(f"{JUG}, 2.0 C/s").fields
    assert (rate["total_time_s"], rate["air_time_s"]) == (30.0, 16.0)
    assert field(JUG, "total_time_s") is None
    assert "Tell how long it took" in ask(JUG).text
    assert "Time: air until 16 s, 65 °C after 30 s." in ask(f"{JUG}, 2.0 C/s").text


def test_wet_steam() -> None:
    """At a dryness of 0.9, 21.3 g instead of 19.4: 1.9 g of it is there for the wetness alone."""
    assert field(f"{JUG}, dryness 0.90", "wet_steam_extra_g") == pytest.approx(1.93, abs=0.06)
    assert "1.9 g of it is there only because the steam is wet" in ask(f"{JUG}, dryness 0.90").text
    assert "How wet the steam is was not told" in ask(f"{JUG}, wet steam").text


def test_the_drink() -> None:
    """36 g at 70 and 219 g at 65 degC make 65.8 by their heats (4.1 and 3.93 kJ/(kg K)); 19.4 of 255 g is 7.6 %."""
    found = ask(f"{JUG}, 36 g espresso at 70 C").fields
    by_hand = (36 * 4.1 * 70 + 219.4 * 3.93 * 65) / (36 * 4.1 + 219.4 * 3.93)
    assert found["drink_degc"] == pytest.approx(by_hand, abs=0.5)
    assert (found["drink_g"], found["drink_water_percent"]) == (255.0, 7.6)
    assumed = ask(f"{JUG}, 36 g espresso")
    assert "36 g of espresso at 67 °C" in assumed.text
    assert "67 °C in the cup is taken" in assumed.text
    assert field(JUG, "drink_g") is None


def test_volume_growth() -> None:
    """200 g of cold milk are 193.7 mL; at 280 mL the jug holds 44.6 % more, 12 of it from warmth and water.

    Density 1.033 kg/L at 4.4 degC by a dairy-science table.
    """
    found = ask("200.0 g from 5.0 to 65.0 C at 1.0 bar, grew to 280.0 ml").fields
    assert found["growth_percent"] == pytest.approx(44.6, abs=0.1)
    assert found["liquid_growth_percent"] == pytest.approx(12.0, abs=0.6)
    assert found["air_growth_percent"] == pytest.approx(32.4, abs=0.6)
    assert "before any air" in ask(JUG).text


def test_altitude() -> None:
    """At 1500 m water boils at 94.98 degC (ISA, IAPWS-IF97); the gauge counts from thinner air, so steam is cooler."""
    high = ask(f"{JUG}, altitude 1500 m")
    assert "water boils at 95.0 °C" in high.text
    low = field("200 g from 5 to 65 C at 1.00 bar", "steam_degc")
    assert isinstance(low, float)
    cooler = field("200 g from 5 to 65 C at 1.00 bar, 1500 m", "steam_degc")
    assert isinstance(cooler, float)
    assert cooler < low


def test_fahrenheit_is_answered_in_both() -> None:
    """Who tells degrees Fahrenheit hears them: 37 degC is 99 degF, 65.6 is 150."""
    text = ask("200 g from 40 to 150 F, 36 g espresso, 25 s, altitude 5000 ft").text
    assert "99 °F (37 °C)" in text
    assert "Shut the steam at 145 to 146 °F (63 to 64 °C)" in text
    assert "150.0 °F" in text or "150 °F" in text
    assert "above the usual" not in ask("200 g from 40 to 149 F").text
    assert "131 °F (55 °C) to 149 °F (65 °C)" in ask("200 g from 40 to 160 F").text


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("200 g from 5 to 75 C", "above the usual 55 °C to 65 °C for dairy"),
        ("200 g from 5 to 35 C", "below the usual"),
        ("200 g soy from 5 to 65 C", "above the usual 55 °C to 60 °C for soy, almond or pea"),
        ("200 g skim from 5 to 60 C", "Reckoned as skim milk"),
        ("200 g oat from 5 to 60 C", "Plant drinks are reckoned as milk"),
        ("200 g for a child from 5 to 60 C", "drink at once or child"),
        ("200 g from 40 to 60 C", "Air: none can be taken in well"),
        ("200 g from 5 to 65 C", "1.0 bar on the gauge is taken"),
        ("200 g from 5 to 65 C at 1.0 bar", "read as the gauge shows it"),
        ("8 oz from 5 to 65 C", "(by weight)"),
    ],
)
def test_what_was_taken_for_granted_is_said(text: str, says: str) -> None:
    """Assumptions, and stops outside what is usual (common practice), are told."""
    assert says in ask(text).text


def test_skim_milk_takes_a_little_more_heat() -> None:
    """3.95 against 3.93 kJ/(kg K) (dairy tables)."""
    skim, whole = (field(f"{kind} 200.0 g from 5.00 to 65.00 C at 1.00 bar", "heat_kj") for kind in ("skim", "whole"))
    assert isinstance(skim, float)
    assert isinstance(whole, float)
    assert skim / whole == pytest.approx(3.95 / 3.93, abs=0.002)


def test_no_shutting_advice_outside_serving_temperatures() -> None:
    """Below 40 degC nothing is said of shutting early."""
    assert "Shut the steam" not in ask("200 g from 5 to 35 C").text
    assert field("200 g from 5 to 35 C", "shut_steam_low_degc") is None


@pytest.mark.parametrize("text", [JUG, "200 g from 8 to 60 C", "200 g from 22 to 60 C"])
def test_cautions_are_always_there(text: str) -> None:
    """Scald, cold holding (5 degC, FDA Food Code 3-501.16 as quoted), and never steamed twice."""
    said = " ".join(ask(text).text.split())
    assert "scald" in said
    assert "5 °C" in said
    assert "never steamed again" in said


def test_the_object_is_flat_and_complete() -> None:
    """A format number, one level, units in the names; the same names whatever was told."""
    one = ask(f"{JUG}, 36 g espresso, 30 s to 40 C, grew to 280 ml").to_dict()
    assert one["format"] == 1
    assert json.loads(json.dumps(one)) == one
    assert all(not isinstance(value, dict) for value in one.values())
    assert set(one) == set(ask(JUG).to_dict())


def test_errors_are_deliberate() -> None:
    """A text of nothing but signs is asked about, not a crash."""
    for text in ("", "???", "- - 5", "1/2", "° ° C", "to to to 5 C to"):
        with pytest.raises(DiagnoseError):
            ask(text)
