"""Water, steam and milk against published figures: one row a figure, with its source and how far it can be trusted.

Tags: read = seen in the source itself; quoted = as a secondary page quotes it; computed = from the definition or the
standard's formula; memory = from memory of the literature.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

import pytest

from diagnose.errors import OutOfRange
from diagnose.science.milk.heat import Portion, Steaming, heat_balance, mixed_temperature_degc
from diagnose.science.milk.safety import (
    COLD_HOLD_MAX_DEGC,
    COOL_TIME_CONTROL_MAX_DEGC,
    HOT_HOLD_MIN_DEGC,
    TIME_CONTROL_HOURS,
    scald_time,
)
from diagnose.science.milk.volume import milk_density_kg_l
from diagnose.science.steam import (
    atmospheric_pressure_bar,
    boiling_point_degc,
    saturated_steam,
    saturation_temperature_degc,
)
from diagnose.science.water.blending import blend_to, share_of_first
from diagnose.science.water.composition import Water
from diagnose.science.water.corrosion import stainless_grade
from diagnose.science.water.dosing import SALTS, Recipe, dose_salts, ions_mg_l
from diagnose.science.water.meter import meter_readings
from diagnose.science.water.saturation import (
    bicarbonate_pk,
    calcite_pk,
    indices,
    saturation,
    saturation_ph_simple,
)
from diagnose.science.water.scale import descaling, scale_bound_g
from diagnose.science.water.standard import BREWING_WATER
from diagnose.science.water.units import (
    alkalinity_mg_l_caco3,
    caco3_as_ion,
    from_mg_l_caco3,
    hardness_mg_l_caco3,
    to_mg_l_caco3,
)


@dataclass(frozen=True)
class Row:
    """One published figure: what it is, where it stands, how it is known, the figure, how close, how we get it."""

    name: str
    source: str
    tag: str
    expected: float
    tolerance: float
    ours: Callable[..., float]
    args: tuple[Any, ...] = ()

    def value(self) -> float:
        """Our figure."""
        return self.ours(*self.args)


def _steam(part: str, gauge_bar: float) -> float:
    """One column of the steam table."""
    return float(getattr(saturated_steam(gauge_bar), part))


def _jug(part: str, *jug: float) -> float:
    """One figure of a heat balance; the jug is milk, start, stop, gauge pressure, dryness."""
    return float(getattr(heat_balance(Steaming(*jug)), part))


def _meter(part: str, conductivity_us_cm: float) -> float:
    """One convention's reading."""
    return float(getattr(meter_readings(conductivity_us_cm), part))


def _short(part: str, ph: float, *water: float) -> float:
    """Return an index by the short form; the water is degC, TDS, calcium, alkalinity."""
    return float(getattr(indices(ph, water[0], saturation_ph_simple(*water)), part))


def _standard(part: str, ph: float, *water: float) -> float:
    """Return an index by the Standard Methods form; the water as for the short one."""
    return float(getattr(saturation(ph, *water), part))


def _dosed(ion: str, alkalinity_salt: str) -> float:
    """Return what a litre of 68 hardness and 40 alkalinity gains of an ion, in mg/L."""
    return {str(name): mg for name, mg in dose_salts(68, 40, 1, Recipe(alkalinity_salt=alkalinity_salt)).adds_mg_l}[ion]


def _milligrams(which: int, alkalinity_salt: str) -> float:
    """Salt for a litre of 68 hardness (0) or 40 alkalinity (1), in mg."""
    return 1000.0 * dose_salts(68, 40, 1, Recipe(alkalinity_salt=alkalinity_salt)).doses[which].grams


def _salt(part: str, formula: str) -> float:
    """Molar mass, or milligrams per milligram of calcium carbonate."""
    return float(getattr(SALTS[formula], part))


def _table(part: str, item: int) -> float:
    """Target or an end of an item of the brewing-water table."""
    return float(getattr(BREWING_WATER[item], part))


def _blended_hardness() -> float:
    """Hardness left when raw water (250/200) is cut with purified (10/8) to alkalinity 50."""
    raw, pure = (
        Water(hardness_mg_l_caco3=250, alkalinity_mg_l_caco3=200),
        Water(hardness_mg_l_caco3=10, alkalinity_mg_l_caco3=8),
    )
    return blend_to(raw, pure, "alkalinity", 50.0).water.total_hardness() or 0.0


def _mixed(*portions: tuple[float, float, float]) -> float:
    """Temperature of portions of mass, temperature and specific heat."""
    return mixed_temperature_degc([Portion(*portion) for portion in portions])


def _scald(part: str, degc: float) -> float:
    """Seconds to a burn."""
    return float(getattr(scald_time(degc), part))


UNITS = "definitions of the degrees and IUPAC standard atomic weights"
TAP = "worked sample of a water-hardness course page: Ca 72, Mg 26, HCO3 133 mg/L"
METER = "conversion table of a conductivity-meter maker, 25 degC"
TEXTBOOK = "Langelier example of water-treatment textbooks: pH 7.5, TDS 320, Ca 150, alkalinity 34"
SHORT = "short form of the Langelier index, Ryznar (1944) as quoted in handbooks"
SM = "Standard Methods 2330 B with the constants of Plummer & Busenberg (1982)"
PB = "Plummer & Busenberg, Geochim Cosmochim Acta 46:1011 (1982)"
TEACHING = "worked example of a public teaching unit: pHs 7.219, pH 7.85"
MIXING = "mass and heat balance"
TABLE = "brewing-water table, SCAA (2009)"
MASSES = "stoichiometry with IUPAC standard atomic weights"
IF97 = "IAPWS-IF97 at gauge pressure plus 1.01325 bar"
R797 = "IAPWS R7-97(2012), table 36"
ISA = "International Standard Atmosphere, ISO 2533:1975, with IAPWS-IF97"
STEAMING = "energy balance of direct steam heating with IAPWS-IF97 enthalpies"
DAIRY = "density table of a university dairy-science course"
SCALD = "burn-prevention table after Moritz & Henriques (1947)"
CODE = "FDA Food Code 3-501.16 and 3-501.19, a state's adoption"


def _unit_rows() -> Iterator[Row]:
    """Hardness units both ways, ions, meters."""
    printed: dict[float, tuple[float, ...]] = {
        50.0: (2.801, 5.0, 3.508, 2.921, 0.4996, 0.9991),
        68.0: (3.810, 6.8, 4.771, 3.972, 0.6794, 1.3588),
        100.0: (5.603, 10.0, 7.016, 5.842, 0.9991, 1.9983),
        250.0: (14.007, 25.0, 17.539, 14.604, 2.4978, 4.9957),
    }
    units = ("dH", "fH", "Clark", "gpg", "mmol/L", "meq/L")
    for mg, values in printed.items():
        for unit, value in zip(units, values, strict=True):
            yield Row(f"{mg:g} mg/L in {unit}", UNITS, "computed", value, 6e-4, from_mg_l_caco3, (mg, unit))
    for unit, value in zip(units, (17.848, 10.0, 14.254, 17.118, 100.09, 50.04), strict=True):
        yield Row(f"one {unit} in mg/L", UNITS, "quoted", value, 0.005, to_mg_l_caco3, (1.0, unit))
    for ion, value in (("Ca", 40.04), ("Mg", 24.28), ("HCO3", 121.9)):
        yield Row(f"{ion} of 100 mg/L CaCO3", UNITS, "computed", value, 0.04, caco3_as_ion, (ion, 100.0))
    yield Row("hardness of the sample", TAP, "quoted", 287.0, 0.5, hardness_mg_l_caco3, (72.0, 26.0))
    yield Row("alkalinity of the sample", TAP, "quoted", 109.0, 0.5, alkalinity_mg_l_caco3, (133.0,))
    yield Row("alkalinity 40 in meq/L", UNITS, "computed", 0.80, 0.001, from_mg_l_caco3, (40.0, "meq/L"))
    for us_cm, kcl, nacl, mix in ((447.0, 225.6, 215.5, 300.0), (1413.0, 744.7, 702.1, 1000.0)):
        yield Row(f"{us_cm:g} uS/cm by KCl", METER, "quoted", kcl, 0.05, _meter, ("kcl_ppm", us_cm))
        yield Row(f"{us_cm:g} uS/cm by NaCl", METER, "quoted", nacl, 0.05, _meter, ("nacl_ppm", us_cm))
        yield Row(f"{us_cm:g} uS/cm by 442", METER, "quoted", mix, 0.05, _meter, ("mix_442_ppm", us_cm))
    yield Row("spread at 447 uS/cm, %", METER, "computed", 39.0, 0.5, _meter, ("spread_percent", 447.0))


def _saturation_rows() -> Iterator[Row]:
    """Langelier and Ryznar: each form at its own precision, then one against the other."""
    short = (
        ((7.5, 25.0, 320.0, 150.0, 34.0), 8.231, -0.731, 8.963),
        ((7.5, 82.0, 320.0, 150.0, 34.0), 7.234, 0.266, 6.968),
        ((7.0, 25.0, 150.0, 68.0, 40.0), 8.471, -1.471, 9.943),
        ((7.0, 93.0, 150.0, 68.0, 40.0), 7.300, -0.300, 7.600),
        ((7.0, 121.0, 150.0, 68.0, 40.0), 6.880, 0.120, 6.760),
        ((8.0, 25.0, 400.0, 250.0, 200.0), 7.250, 0.750, 6.499),
        ((8.0, 93.0, 400.0, 250.0, 200.0), 6.078, 1.922, 4.157),
    )
    for water, phs, lsi, rsi in short:
        name = "/".join(f"{number:g}" for number in water)
        yield Row(f"pHs {name}", SHORT, "computed", phs, 0.01, _short, ("ph_saturation", *water))
        yield Row(f"Langelier {name}", SHORT, "computed", lsi, 0.01, _short, ("langelier", *water))
        yield Row(f"Ryznar {name}", SHORT, "computed", rsi, 0.01, _short, ("ryznar", *water))
        yield Row(f"pHs by the other form {name}", SHORT, "computed", phs, 0.25, _standard, ("ph_saturation", *water))
    standard = (
        ((7.0, 25.0, 150.0, 68.0, 40.0), 8.259, -1.259),
        ((7.0, 93.0, 150.0, 68.0, 40.0), 7.410, -0.410),
        ((8.0, 25.0, 400.0, 250.0, 200.0), 7.074, 0.926),
        ((8.0, 93.0, 400.0, 250.0, 200.0), 6.239, 1.761),
    )
    for water, phs, lsi in standard:
        name = "/".join(f"{number:g}" for number in water)
        yield Row(f"pHs {name}", SM, "computed", phs, 0.01, _standard, ("ph_saturation", *water))
        yield Row(f"Langelier {name}", SM, "computed", lsi, 0.01, _standard, ("langelier", *water))
    for degc, pk2, pks in ((0.0, 10.629, 8.381), (10.0, 10.488, 8.410), (25.0, 10.329, 8.480), (60.0, 10.144, 8.759)):
        yield Row(f"pK2 at {degc:g} degC", PB, "quoted", pk2, 0.001, bicarbonate_pk, (degc,))
        yield Row(f"pKs of calcite at {degc:g} degC", PB, "quoted", pks, 0.001, calcite_pk, (degc,))
    cool, hot = (7.5, 25.0, 320.0, 150.0, 34.0), (7.5, 82.0, 320.0, 150.0, 34.0)
    yield Row("pHs at 25 degC", TEXTBOOK, "memory", 8.2, 0.05, _short, ("ph_saturation", *cool))
    yield Row("pHs at 82 degC", TEXTBOOK, "memory", 7.2, 0.05, _short, ("ph_saturation", *hot))
    yield Row("Langelier at 25 degC", TEXTBOOK, "memory", -0.7, 0.05, _short, ("langelier", *cool))
    yield Row("Langelier at 82 degC", TEXTBOOK, "memory", 0.3, 0.05, _short, ("langelier", *hot))
    yield Row("Langelier from pHs", TEACHING, "quoted", 0.63, 0.005, lambda: indices(7.85, 25.0, 7.219).langelier)
    yield Row("Ryznar from pHs", TEACHING, "quoted", 6.59, 0.005, lambda: indices(7.85, 25.0, 7.219).ryznar)


def _recipe_rows() -> Iterator[Row]:
    """Yield the published table, salts, blends, scale."""
    table = ((0, 0.0, 0.0, 0.0), (1, 150.0, 75.0, 250.0), (2, 68.0, 17.0, 85.0), (4, 7.0, 6.5, 7.5))
    for item, target, low, high in table:
        name = BREWING_WATER[item].name
        yield Row(f"{name}, target", TABLE, "read", target, 0.0, _table, ("target", item))
        yield Row(f"{name}, low end", TABLE, "read", low, 0.0, _table, ("low", item))
        yield Row(f"{name}, high end", TABLE, "read", high, 0.0, _table, ("high", item))
    yield Row("alkalinity, target", TABLE, "read", 40.0, 0.0, _table, ("target", 3))
    yield Row("sodium, target", TABLE, "read", 10.0, 0.0, _table, ("target", 5))
    yield Row("four grains of calcium hardness", TABLE, "read", 68.0, 0.5, to_mg_l_caco3, (4.0, "gpg"))
    factors = (
        ("MgSO4.7H2O", 246.47, 2.4626),
        ("CaCl2.2H2O", 147.01, 1.4689),
        ("CaCl2", 110.98, 1.1089),
        ("MgCl2.6H2O", 203.30, 2.0313),
        ("CaSO4.2H2O", 172.17, 1.7202),
        ("NaHCO3", 84.007, 1.6787),
        ("KHCO3", 100.115, 2.0006),
    )
    for salt, mass, factor in factors:
        yield Row(f"molar mass of {salt}", MASSES, "computed", mass, 0.01, _salt, ("g_mol", salt))
        yield Row(f"{salt} per CaCO3", MASSES, "computed", factor, 2e-4, _salt, ("mg_per_mg_caco3", salt))
    yield Row("Epsom salt for 68, mg", MASSES, "computed", 167.5, 0.1, _milligrams, (0, "NaHCO3"))
    yield Row("sulfate it adds", MASSES, "computed", 65.3, 0.1, _dosed, ("SO4", "NaHCO3"))
    yield Row("baking soda for 40, mg", MASSES, "computed", 67.1, 0.1, _milligrams, (1, "NaHCO3"))
    yield Row("sodium it adds", MASSES, "computed", 18.4, 0.05, _dosed, ("Na", "NaHCO3"))
    yield Row("potassium bicarbonate for 40, mg", MASSES, "computed", 80.0, 0.1, _milligrams, (1, "KHCO3"))
    yield Row("potassium it adds", MASSES, "computed", 31.3, 0.05, _dosed, ("K", "KHCO3"))
    calcium_chloride = SALTS["CaCl2.2H2O"]
    yield Row("chloride of 100 mg", MASSES, "computed", 48.2, 0.05, lambda: ions_mg_l(calcium_chloride, 100.0)["Cl"])
    yield Row("share of raw water", MIXING, "computed", 0.21875, 1e-9, share_of_first, (50.0, 200.0, 8.0))
    yield Row("hardness of the blend", MIXING, "computed", 62.5, 1e-9, _blended_hardness)
    yield Row("chalk of a year, 20 L a day at 200", MIXING, "computed", 1460.0, 0.5, scale_bound_g, (20.0, 200.0))
    yield Row("citric acid for 100 g", MASSES, "computed", 128.0, 0.1, lambda: descaling(100.0).citric_acid_g)


def _steam_rows() -> Iterator[Row]:
    """Steam by gauge and boiling by altitude."""
    columns = ("temperature_degc", "water_enthalpy_kj_kg", "steam_enthalpy_kj_kg", "evaporation_enthalpy_kj_kg")
    table: dict[float, tuple[float, ...]] = {
        0.0: (99.97, 419.0, 2675.5, 2256.5),
        0.8: (117.14, 491.6, 2701.8, 2210.1),
        1.0: (120.42, 505.6, 2706.5, 2201.0),
        1.1: (121.96, 512.1, 2708.8, 2196.6),
        1.2: (123.44, 518.4, 2710.9, 2192.5),
        1.5: (127.59, 536.1, 2716.7, 2180.7),
        2.0: (133.68, 562.1, 2725.1, 2163.0),
    }
    for bar, values in table.items():
        for column, value in zip(columns, values, strict=True):
            near = 0.006 if column == "temperature_degc" else 0.06
            yield Row(f"{column} at {bar:g} bar g", IF97, "computed", value, near, _steam, (column, bar))
    for metres, degc in {0: 99.97, 500: 98.31, 1000: 96.65, 1500: 94.98, 2000: 93.32, 3000: 89.97}.items():
        yield Row(f"boiling point at {metres} m", ISA, "computed", degc, 0.006, boiling_point_degc, (metres,))
    yield Row("boiling at 0.1 MPa", R797, "read", 372.755919 - 273.15, 1e-6, saturation_temperature_degc, (1.0,))
    yield Row("boiling at 1 MPa", R797, "read", 453.035632 - 273.15, 1e-6, saturation_temperature_degc, (10.0,))
    yield Row("air at 1000 m, bar", "ISO 2533:1975", "memory", 0.89875, 1e-4, atmospheric_pressure_bar, (1000.0,))


def _milk_rows() -> Iterator[Row]:
    """Milk: heat, density, scalding, keeping."""
    columns = ("condensate_g", "percent_of_milk", "percent_of_final")
    jugs: tuple[tuple[tuple[float, ...], tuple[float, ...]], ...] = (
        ((150.0, 4.0, 60.0), (13.45, 8.96, 8.23)),
        ((150.0, 4.0, 65.0), (14.77, 9.85, 8.97)),
        ((200.0, 5.0, 65.0), (19.37, 9.69, 8.83)),
        ((150.0, 20.0, 60.0), (9.60, 6.40, 6.02)),
        ((200.0, 5.0, 65.0, 1.0, 0.9), (21.30, 10.65, 9.63)),
    )
    for jug, values in jugs:
        name = "/".join(f"{number:g}" for number in jug)
        for column, value in zip(columns, values, strict=True):
            yield Row(f"{column} {name}", STEAMING, "computed", value, 0.006, _jug, (column, *jug))
    yield Row("heat for 200 g, 5 to 65, kJ", STEAMING, "computed", 47.2, 0.05, _jug, ("heat_kj", 200.0, 5.0, 65.0))
    drink = ((36.0, 70.0, 4.1), (200.0, 60.0, 3.93))
    yield Row("36 g at 70 and 200 g at 60 degC", MIXING, "computed", 61.58, 0.005, _mixed, drink)
    for degc, density in ((4.4, 1.033), (10.0, 1.032), (20.0, 1.029), (38.9, 1.022)):
        yield Row(f"density at {degc:g} degC", DAIRY, "quoted", density, 5e-4, milk_density_kg_l, (degc,))
    for degc, second, third in ((49.0, 480.0, 600.0), (51.0, 120.0, 252.0), (55.0, 17.0, 30.0), (60.0, 3.0, 5.0)):
        yield Row(f"second degree at {degc:g}, s", SCALD, "quoted", second, 0.0, _scald, ("second_degree_s", degc))
        yield Row(f"third degree at {degc:g}, s", SCALD, "quoted", third, 0.0, _scald, ("third_degree_s", degc))
    yield Row("cold holding, 41 degF", CODE, "quoted", (41.0 - 32.0) / 1.8, 0.01, lambda: COLD_HOLD_MAX_DEGC)
    yield Row("hot holding, 135 degF", CODE, "quoted", (135.0 - 32.0) / 1.8, 0.3, lambda: HOT_HOLD_MIN_DEGC)
    yield Row("cool room, 70 degF", CODE, "quoted", (70.0 - 32.0) / 1.8, 0.2, lambda: COOL_TIME_CONTROL_MAX_DEGC)
    yield Row("time without cooling, h", CODE, "quoted", 4.0, 0.0, lambda: TIME_CONTROL_HOURS)


ROWS = [*_unit_rows(), *_saturation_rows(), *_recipe_rows(), *_steam_rows(), *_milk_rows()]


@pytest.mark.parametrize("row", ROWS, ids=[f"{row.name} [{row.tag}]" for row in ROWS])
def test_published_figure(row: Row) -> None:
    """Each published figure comes out to within its tolerance."""
    assert row.value() == pytest.approx(row.expected, rel=0.0, abs=row.tolerance + 1e-12), row.source


# Claims met in print that are wrong: the figure claimed, and by how much ours must differ.
WRONG = [
    Row("a German degree is 10 mg/L CaCO3", "a page that means CaO", "quoted", 10.0, 7.0, to_mg_l_caco3, (1, "dH")),
    Row(
        "a US grain is 17.848 mg/L", "the same page, degrees swapped", "quoted", 17.848, 0.7, to_mg_l_caco3, (1, "gpg")
    ),
    Row("grains = mg/L x 17.1", "a maker's page (divide)", "quoted", 1710.0, 1700.0, from_mg_l_caco3, (100, "gpg")),
    Row("1.0 bar g boils at 99.61", "absolute table", "computed", 99.61, 20.0, _steam, ("temperature_degc", 1.0)),
    Row("5 to 65 on 12.3 g", "specific heat 2.5", "computed", 12.3, 6.5, _jug, ("condensate_g", 200, 5, 65)),
    Row("alkalinity = bicarbonate", "bottle labels", "computed", 133.0, 20.0, alkalinity_mg_l_caco3, (133.0,)),
]


@pytest.mark.parametrize("claim", WRONG, ids=[claim.name for claim in WRONG])
def test_wrong_claim_is_not_reproduced(claim: Row) -> None:
    """A claim known to be wrong is far from what we give."""
    assert abs(claim.value() - claim.expected) > claim.tolerance, claim.source


REFUSED: list[tuple[str, Callable[[], object], str]] = [
    ("milk of specific heat 2.5", lambda: Steaming(200, 5, 65, specific_heat_kj_kgk=2.5), "3.6 to 4.2 kJ"),
    ("water at 300 degC", lambda: saturation(7.0, 300.0, 150.0, 68.0, 40.0), "0 to 130 degC"),
    ("pH 15", lambda: Water(ph=15.0), "0 to 14"),
    ("an index at pH 3", lambda: saturation(3.0, 93.0, 150.0, 68.0, 40.0), "4 to 10"),
    ("negative calcium", lambda: Water(calcium_mg_l=-1.0), "0 to 5000 mg/L"),
    ("negative hardness", lambda: to_mg_l_caco3(-1.0, "dH"), "0 to"),
    ("a boiler at 9 bar", lambda: saturated_steam(9.0), "0 to 3 bar gauge"),
    ("milk at 300 degC", lambda: Steaming(200.0, 5.0, 300.0), "degC"),
    ("milk steamed to colder", lambda: Steaming(200.0, 40.0, 20.0), "above 40"),
    ("not a number", lambda: boiling_point_degc(float("nan")), "-430 to 5000 m"),
]


@pytest.mark.parametrize(("make", "says"), [row[1:] for row in REFUSED], ids=[row[0] for row in REFUSED])
def test_impossible_is_refused(make: Callable[[], object], says: str) -> None:
    """Impossible input is refused with the range and the unit."""
    with pytest.raises(OutOfRange, match=says.replace("(", r"\(")):
        make()


@pytest.mark.parametrize(
    ("chloride", "grades"),
    [
        (10.0, ("304", "304", "304")),
        (25.0, ("304", "304", "316")),
        (50.0, ("304", "316", "316")),
        (80.0, ("316", "316", "316")),
        (150.0, ("316", "316", "titanium")),
        (300.0, ("316", "titanium", "titanium")),
    ],
)
def test_chloride_table_of_a_heat_exchanger_maker(chloride: float, grades: tuple[str, ...]) -> None:
    """The least stainless grade at 60, 80 and 120 degC is as the table quoted from a heat-exchanger maker has it."""
    assert (stainless_grade(chloride, 60), stainless_grade(chloride, 80), stainless_grade(chloride, 120)) == grades


def test_rows_are_tagged_and_many() -> None:
    """Every row says where it is from and how it is known."""
    assert len(ROWS) >= 60
    assert {row.tag for row in ROWS} == {"read", "quoted", "computed", "memory"}
    assert len({row.name + row.source for row in ROWS}) == len(ROWS)
