"""Calcite saturation against a chemical speciation program (PHREEQC), where its Python package is installed.

Collected only there; see conftest.py beside this file.
"""

from statistics import fmean

import pytest
from phreeqpython import PhreeqPython

from diagnose.science.water.saturation import indices, saturation, saturation_ph_simple

CACO3_G_MOL = 100.087

# pH, degC, TDS mg/L, calcium and alkalinity in mg/L as CaCO3.
WATERS = [
    (ph, degc, tds, calcium, alkalinity)
    for ph, tds, calcium, alkalinity in (
        (7.0, 150.0, 68.0, 40.0),
        (7.5, 320.0, 150.0, 34.0),
        (7.5, 300.0, 180.0, 109.0),
        (8.0, 400.0, 250.0, 200.0),
    )
    for degc in (25.0, 60.0, 93.0, 121.0)
]


@pytest.fixture(scope="module", params=["phreeqc.dat", "pitzer.dat"])
def program(request: pytest.FixtureRequest) -> PhreeqPython:
    """Start the program with one of its two data bases: ion pairs, or specific interaction."""
    return PhreeqPython(database=request.param)


def _calcite_index(program: PhreeqPython, water: tuple[float, float, float, float, float]) -> float:
    """Return the program's index, with chloride or sodium balancing the charges and the pH as given."""
    ph, degc, _, calcium, alkalinity = water
    excess = (2.0 * calcium - 2.0 * alkalinity) / CACO3_G_MOL
    told = {
        "units": "mmol/l",
        "temp": degc,
        "pH": ph,
        "Ca": calcium / CACO3_G_MOL,
        "Alkalinity": 2.0 * alkalinity / CACO3_G_MOL,
        "Cl" if excess > 0.0 else "Na": abs(excess),
    }
    solution = program.add_solution(told)
    found = float(solution.si("Calcite"))
    solution.forget()
    return found


@pytest.mark.parametrize("water", WATERS, ids=["/".join(f"{number:g}" for number in water) for water in WATERS])
def test_langelier_agrees_with_speciation(
    program: PhreeqPython, water: tuple[float, float, float, float, float]
) -> None:
    """The Langelier index is the program's calcite index to within 0.20, from cold water to a steam boiler."""
    assert saturation(*water).langelier == pytest.approx(_calcite_index(program, water), abs=0.20)


def test_working_form_is_the_nearer_one(program: PhreeqPython) -> None:
    """Over all waters the Standard Methods form is nearer to the program, on average, than the short form."""
    programs = [_calcite_index(program, water) for water in WATERS]
    working = [saturation(*water).langelier for water in WATERS]
    short = [indices(water[0], water[1], saturation_ph_simple(*water[1:])).langelier for water in WATERS]
    far = [fmean(abs(ours - theirs) for ours, theirs in zip(form, programs, strict=True)) for form in (working, short)]
    assert far[0] < far[1]
    assert far[0] < 0.15
