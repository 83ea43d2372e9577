"""``diagnose water`` and ``diagnose milk`` from the command line: exit codes, JSON, width, options."""

import json

import pytest

from diagnose.cli import main

LABEL = "Ca 72 mg/L, Mg 26 mg/L, HCO3 133 mg/L"
JUG = "200 g from 5 to 65 C at 1.0 bar gauge"


def run(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str, str]:
    """Run a command; return exit code, output and errors."""
    code = main(arguments)
    printed = capsys.readouterr()
    return code, printed.out, printed.err


@pytest.mark.parametrize("arguments", [("water", LABEL), ("milk", JUG), ("water", "14", "dH,", "KH", "9")])
def test_plain_lines_of_80_columns(capsys: pytest.CaptureFixture[str], arguments: tuple[str, ...]) -> None:
    """An answer is plain text of at most 80 columns, ends with a line break, and holds no control characters."""
    code, out, err = run(capsys, *arguments)
    assert (code, err) == (0, "")
    assert max(map(len, out.splitlines())) <= 80
    assert out.endswith("\n")
    assert out.replace("\n", "").isprintable()


def test_json_is_one_object(capsys: pytest.CaptureFixture[str]) -> None:
    """One line, with the text in it."""
    code, out, _ = run(capsys, "water", "--json", LABEL)
    assert code == 0
    assert out.count("\n") == 1
    assert json.loads(out)["hardness_mg_l_caco3"] == 287.0
    code, out, _ = run(capsys, "milk", JUG, "--json")
    assert json.loads(out)["condensate_g"] == 19.4


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("water", "pH 15"), "0 to 14"),
        (("water", "hardness 14"), "In which unit"),
        (("water",), "Write for example"),
        (("milk", "200 g from 5 to 300 C"), "0 to 95"),
        (("milk", "200 g from 5 to 65"), "°C or °F"),
        (("water", LABEL, "--to-alkalinity", "50"), "Add for example --blend"),
        (("water", LABEL, "--blend", "nothing", "--to-alkalinity", "50"), "no number in --blend"),
        (("water", LABEL, "--blend", "KH 0, dose 5 L to KH 3 dH"), "Dosing goes with"),
        (("water", LABEL, "--blend", "KH 0", "--to-alkalinity", "50", "--to-tds", "9"), "one number only"),
        (("water", f"{LABEL}, blend with KH 0 to KH 3 dH", "--blend", "KH 0"), "told twice"),
        (("water", LABEL, "--hardness", "68"), "add --dose"),
        (("water", "--dose", "5", "--hardness", "68"), "In which unit is the volume 5"),
        (("water", "--dose", "some", "--hardness", "68"), "--dose takes one number"),
        (("water", "dose 5 L to KH 3 dH", "--dose", "5L"), "told twice"),
        (("water", "--dose", "5L", "--hardness", "68", "--hardness-salt", "salt"), "no salt for hardness"),
        (("water", "--dose", "5L", "--hardness", "68", "--concentrate", "much"), "--concentrate takes grams"),
        (("water", "--dose", "5L", "--hardness", "68", "--concentrate", "900"), "0.1 to 250 g/L"),
    ],
)
def test_what_cannot_be_answered_exits_2(
    capsys: pytest.CaptureFixture[str], arguments: tuple[str, ...], says: str
) -> None:
    """A clear message on the error stream, nothing on the output; with --json the message as an object too."""
    code, out, err = run(capsys, *arguments)
    assert (code, out) == (2, "")
    assert says in err
    code, out, err = run(capsys, *arguments, "--json")
    assert code == 2
    assert json.loads(out)["format"] == 1
    assert says in json.loads(out)["error"]


def test_blend_by_options(capsys: pytest.CaptureFixture[str]) -> None:
    """Options make the same request as the text does."""
    _, by_option, _ = run(capsys, "water", LABEL, "--blend", "Ca 5 mg/L, HCO3 8 mg/L", "--to-alkalinity", "50")
    _, by_text, _ = run(capsys, "water", f"{LABEL}, blend with Ca 5 mg/L, HCO3 8 mg/L to alkalinity 50 mg/L")
    assert by_option == by_text
    assert "42.4 % of the first water" in by_option
    _, inside, _ = run(capsys, "water", LABEL, "--blend", "Ca 5 mg/L, HCO3 8 mg/L to alkalinity 50 mg/L")
    assert inside == by_text
    _, hot, _ = run(capsys, "water", LABEL, "--blend", "distilled, brew 90 C", "--to-hardness", "4 dH")
    assert "Brewing at 90 °C" in hot


def test_dose_by_options(capsys: pytest.CaptureFixture[str]) -> None:
    """Salts for 5 L to 68 hardness and 40 alkalinity: 0.84 g Epsom salt, 0.34 g soda (from IUPAC masses)."""
    _, out, _ = run(capsys, "water", "--dose", "5L", "--hardness", "68", "--alkalinity", "40")
    assert "Epsom salt (MgSO4.7H2O): 0.84 g, or 16.7 mL" in out
    assert "baking soda (NaHCO3): 0.34 g, or 6.7 mL" in out
    salts = ("--hardness-salt", "CaCl2.2H2O", "--alkalinity-salt", "KHCO3", "--concentrate", "100 g/L")
    _, out, _ = run(capsys, "water", "distilled", "--dose", "10 L", "--hardness", "3.81 dH", *salts, "--json")
    assert json.loads(out)["dose_hardness_salt_g"] == 1.0
    assert json.loads(out)["dose_hardness_concentrate_ml"] == 10.0
