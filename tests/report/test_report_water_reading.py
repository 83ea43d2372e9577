"""What a text tells of a water: units, gaps, doubts, and what becomes of every number."""

import pytest

from diagnose.errors import DiagnoseError, OutOfRange
from diagnose.report.said import Asked
from diagnose.report.water_reading import Request, read_request


def told(text: str) -> dict[str, float]:
    """Return the numbers of a water, rounded to four figures."""
    return {name: float(f"{value:.4g}") for name, value in read_request(text).first.values.items()}


def refusal(text: str, kind: type[DiagnoseError] = Asked) -> str:
    """Return why a text cannot be read."""
    with pytest.raises(kind) as caught:
        read_request(text)
    return str(caught.value)


# Factors as quoted in printed conversion tables of water hardness; each row is 100 mg/L as calcium carbonate.
HUNDRED = (
    "100 mg/L as CaCO3", "100 mg/L", "100 ppm", "5.603 dH", "5.603 °dH", "10.00 fH", "10.00 °f", "7.016 Clark",
    "7.016 °e", "7.016 eH", "5.842 gpg", "5.842 grains", "1.9983 meq/L", "0.10 g/L", "56.03 mg/L as CaO",
)  # fmt: skip


@pytest.mark.parametrize("amount", [*HUNDRED, "0.9991 mmol/L", "40.04 mg/L as Ca"])
def test_every_unit_of_hardness(amount: str) -> None:
    """One hardness in all units of the printed tables comes to 100 mg/L as calcium carbonate."""
    assert told(f"hardness {amount}") == {"hardness_mg_l_caco3": pytest.approx(100.0, abs=0.02)}


@pytest.mark.parametrize("amount", [*HUNDRED, "121.9 mg/L as HCO3", "0.9991 mmol/L as CaCO3", "1.998 mmol/L as HCO3"])
def test_every_unit_of_alkalinity(amount: str) -> None:
    """The same for alkalinity, with bicarbonate at 1.219 of it (printed factor)."""
    assert told(f"alkalinity {amount}") == {"alkalinity_mg_l_caco3": pytest.approx(100.0, abs=0.05)}


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("14 dH, KH 9", {"hardness_mg_l_caco3": 249.9, "alkalinity_mg_l_caco3": 160.6}),
        ("14 dGH, 9 dKH", {"hardness_mg_l_caco3": 249.9, "alkalinity_mg_l_caco3": 160.6}),
        ("GH 8", {"hardness_mg_l_caco3": 142.8}),
        ("GH 180 ppm", {"hardness_mg_l_caco3": 180.0}),
        ("TH 25 °f, TAC 20 °f", {"hardness_mg_l_caco3": 250.0, "alkalinity_mg_l_caco3": 200.0}),
        ("acid capacity 2.2 mmol/L", {"alkalinity_mg_l_caco3": 110.1}),
        ("carbonate hardness 6 dH", {"alkalinity_mg_l_caco3": 107.1}),
        ("calcium hardness 100 mg/L", {"calcium_mg_l": 40.04}),
        ("magnesium hardness 100 mg/L", {"magnesium_mg_l": 24.28}),
        ("Ca 100 mg/L as CaCO3", {"calcium_mg_l": 40.04}),
        ("Ca 5.603 dH", {"calcium_mg_l": 40.04}),
        ("Ca 1 mmol/L, Na 1 mmol/L", {"calcium_mg_l": 40.08, "sodium_mg_l": 22.99}),
        ("Ca 1 meq/L, SO4 1 meq/L", {"calcium_mg_l": 20.04, "sulfate_mg_l": 48.03}),
        ("Na 500 µg/L, Cl 1 g/L", {"sodium_mg_l": 0.5, "chloride_mg_l": 1000.0}),
        ("chlorine 0.2 mg/L", {"chlorine_mg_l": 0.2}),
        ("GH 0 KH 0 chlorine 0 TDS 0 Na 0", dict.fromkeys(
            ("hardness_mg_l_caco3", "alkalinity_mg_l_caco3", "chlorine_mg_l", "tds_mg_l", "sodium_mg_l"), 0.0)),
        ("TDS 447 uS/cm", {"conductivity_us_cm": 447.0}),
        ("conductivity 0.447 mS/cm", {"conductivity_us_cm": 447.0}),
        ("447 uS/cm", {"conductivity_us_cm": 447.0}),
        ("TDS 215.5 ppm NaCl", {"tds_mg_l": 300.0}),
        ("TDS 225.6 ppm by a KCl meter", {"tds_mg_l": 300.0}),
        ("TDS 300 ppm (442)", {"tds_mg_l": 300.0}),
        ("dry residue at 180 °C: 309 mg/L", {"tds_mg_l": 309.0}),
        ("Na < 5 mg/L", {"sodium_mg_l": 5.0}),
    ],
)  # fmt: skip
def test_what_is_told(text: str, expected: dict[str, float]) -> None:
    """Names and units as the trade has them; meters by a maker's printed conversion table (447 uS/cm)."""
    assert told(text) == expected


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("hardness 14", "In which unit is hardness 14?"),
        ("alkalinity 140", "“alkalinity 140 ppm”"),
        ("hardness 14 degrees", "is none for it"),
        ("hardness 14 C", "In which unit is hardness 14?"),
        ("Ca 72", "In which unit is calcium 72?"),
        ("Na 14 dH", "“dH” is none for it"),
        ("Na 5 mg/L as CaCO3", "In which unit is sodium"),
        ("GH 180", "in dH or in ppm"),
        ("TDS 150", "In which unit is TDS 150?"),
        ("TDS 5 dH", "In which unit is TDS 5?"),
        ("EC 0.45", "mS/cm"),
        ("EC 450 ppm", "uS/cm"),
        ("chlorine 0.2", "In which unit is chlorine 0.2?"),
        ("pH 7.2 ppm", "pH has no unit"),
        ("brew 94", "in °C or °F"),
        ("150 ppm", "What is 150 ppm?"),
        ("14 degrees", "What is 14 degrees?"),
        ("alkalinity 2.2 mmol/L", "acid capacity or as calcium carbonate"),
        ("hardness 133 mg/L as HCO3", "not counted as HCO3"),
        ("Ca 72 mg/L, Ca 80 mg/L", "two values for calcium"),
        ("brew 93 C, brew 95 C", "two values for the brewing temperature"),
        ("TDS 216 ppm NaCl, KCl", "Which salt"),
        ("Ca 72 mg/L to 3 dH, blend with to alkalinity 50 ppm", "blended with"),
        ("KH 9, blend with KH 0 to KH 3 dH and GH 5 dH", "one number only"),
        ("KH 9, blend with KH 0 to sodium 5 mg/L", "can be hardness, alkalinity or TDS"),
        ("TDS 90 mg/L, blend with TDS 0 to TDS 50", "target TDS 50"),
        ("dose to hardness 68 ppm", "How much water"),
    ],
)
def test_what_is_missing_is_asked_for(text: str, says: str) -> None:
    """A missing, wrong or ambiguous unit is a question with an example, never a guess."""
    assert says in refusal(text)


def test_all_questions_come_at_once() -> None:
    """Who left out two units hears of both."""
    said = refusal("hardness 14, alkalinity 40, pH 7.2")
    assert "hardness 14" in said
    assert "alkalinity 40" in said


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("pH 15", "0 to 14"),
        ("Ca -5 mg/L", "0 to 5000 mg/L"),
        ("hardness 300 dH", "0 to 280 dH"),
        ("hardness -1 to 4 dH", "0 to 280 dH"),
        ("brew at 300 C", "0 to 130 °C"),
        ("brew at 300 F", "32 to 266 °F"),
        ("conductivity 20 mS/cm", "0 to 10 mS/cm"),
        ("boiler 9 bar", "0 to 3 bar"),
        ("TDS 900 ppm NaCl", "0 to 702.1 ppm"),
        ("dose 50000 L to hardness 68 ppm", "0 to 10000 L"),
    ],
)
def test_what_cannot_be_is_refused_with_its_range(text: str, says: str) -> None:
    """The range is told in the unit that was used."""
    assert says in refusal(text, OutOfRange)


@pytest.mark.parametrize(
    ("text", "unused"),
    [
        ("GH 8, NO3 25, silica 12 mg/L", ["NO3 25", "silica 12 mg/L"]),
        ("GH 8, strip 3, tested 4.5.2026", ["3", "4.5.2026"]),
        ("GH 8, 2 L", ["2 L"]),
        ("GH 8, residue at 180 °C 300 mg/L", ["residue at 180 °C (the temperature it was measured at)"]),
        ("GH 8, hardness 8 dH", ["hardness 8 dH (told twice)"]),
        ("Ca 72 mg/L, Mg 26 mg/L, 16 dH", ["hardness 16 dH (it follows from calcium and magnesium)"]),
        ("HCO3 133 mg/L, KH 6", ["alkalinity 6 dH (a bare KH counts German degrees) (it follows from bicarbonate)"]),
        ("GH 8, blend with 30 cups", ["30"]),
        ("GH 8, permanent hardness 3 dH", ["permanent hardness 3 dH"]),
    ],
)
def test_every_number_is_used_or_named(text: str, unused: list[str]) -> None:
    """What has no part in the reckoning is said to have none."""
    assert read_request(text).first.not_used == unused


def test_a_range_and_a_bound_say_what_was_taken() -> None:
    """The middle of a range, the end of a bound."""
    heard = read_request("hardness 120-150 ppm, Na < 5 mg/L, about 80 ppm alkalinity").first.heard
    assert heard == [
        "hardness 120 to 150 ppm as CaCO3 (135 taken)",
        "sodium below 5 mg/L (taken as 5)",
        "alkalinity about 80 ppm as CaCO3",
    ]


@pytest.mark.parametrize(
    "text", ["in mg/L: Ca 72, Mg 26", "Ca 72, Mg 26 mg/L", "Ca 72 mg/L, Mg 26", "Ca 72, Mg 26 (all in mg/L)"]
)
def test_one_unit_for_a_list_is_said(text: str) -> None:
    """A label's one unit goes for all its ions, and the answer says so; hardness never takes part in that."""
    said = read_request(text).first
    assert said.values == {"calcium_mg_l": 72.0, "magnesium_mg_l": 26.0}
    assert "mg/L is taken as the unit of" in said.notes[0]
    assert "hardness 14" in refusal(f"{text}, hardness 14")


def test_two_units_in_a_list_settle_nothing() -> None:
    """Where ions are told in two units, a third without one is asked about."""
    assert "magnesium 26" in refusal("Ca 72 mg/L, Mg 26, Na 1 mmol/L")


def test_numbers_that_do_not_fit_each_other_are_noted() -> None:
    """Stated hardness against ions, calcium against hardness, ions against residue (half of bicarbonate dries off)."""
    assert "does not fit" in read_request("Ca 72 mg/L, Mg 26 mg/L, 8 dH").first.notes[0]
    assert "Calcium alone" in read_request("Ca 72 mg/L, 8 dH").first.notes[0]
    assert "weigh more" in read_request("Ca 72 mg/L, HCO3 133 mg/L, TDS 60 mg/L").first.notes[0]
    assert read_request("Ca 72 mg/L, Mg 26 mg/L, HCO3 133 mg/L, dry residue 170 mg/L").first.notes == []


def test_temperatures_of_machine_and_water() -> None:
    """Brewing and boiler temperature, the boiler by its gauge too: 1.2 bar gauge is 123.44 degC (IAPWS-IF97)."""
    places = read_request("GH 8, 12 °C, brew 94 C, boiler 1.2 bar").first.places
    assert {name: round(one.value, 1) for name, one in places.items()} == {
        "water": 12.0,
        "brewing": 94.0,
        "boiler": 123.4,
    }
    fahrenheit = read_request("GH 8, brew 200 F").first.places["brewing"]
    assert fahrenheit.value == pytest.approx(93.33, abs=0.01)
    absolute = read_request("GH 8, boiler 2.21 bar absolute").first.places["boiler"]
    assert absolute.value == pytest.approx(123.4, abs=0.1)
    assert read_request("GH 8, boiler 3 bar").first.places["boiler"].value == pytest.approx(143.7, abs=0.1)
    assert read_request("GH 8, steam 1.0 bar").first.places["boiler"].value == pytest.approx(120.42, abs=0.01)
    assert read_request("boiler water 14 dH").first.values == read_request("14 dH").first.values


def orders(request: Request) -> tuple[str | None, float | None, list[str]]:
    """Return what is to be done."""
    target, litres = request.blend_target, request.dose_litres
    shown = [one.shown for one in request.dose_targets]
    return target.shown if target else None, round(litres.value, 3) if litres else None, shown


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("KH 9, blend with Ca 5 mg/L, HCO3 8 mg/L to alkalinity 50 mg/L", ("alkalinity 50 mg/L as CaCO3", None, [])),
        ("TDS 90 mg/L diluted with distilled water to TDS 50 mg/L", ("dissolved solids 50 mg/L", None, [])),
        (
            "distilled, dose 5 L to hardness 68 ppm, KH 2 dH",
            (None, 5.0, ["hardness 68 ppm as CaCO3", "alkalinity 2 dH"]),
        ),
        ("dose 1 gallon hardness 68 ppm", (None, 3.785, ["hardness 68 ppm as CaCO3"])),
    ],
)
def test_orders_in_the_text(text: str, expected: tuple[str | None, float | None, list[str]]) -> None:
    """A second water, targets and a volume can stand in the text; a US gallon is 3.785 L."""
    assert orders(read_request(text)) == expected


def test_pure_water_holds_nothing() -> None:
    """Distilled water needs no numbers; water from reverse osmosis is said to hold a little."""
    assert told("distilled water")["calcium_mg_l"] == 0.0
    osmosis = read_request("RO water at 20 C").first
    assert osmosis.heard == ["reverse-osmosis water", "water at 20 °C"]
    assert "keeps a few mg/L" in osmosis.notes[0]
    assert told("RO water, GH 1") == {"hardness_mg_l_caco3": 17.85}
    blended = read_request("KH 9, blend with distilled water to 3 dH alkalinity")
    assert blended.second is not None
    assert blended.second.heard == ["distilled water"]
