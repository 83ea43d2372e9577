"""What ``diagnose water`` and ``diagnose milk`` do: read the text and the options, answer, print."""

import sys
from argparse import ArgumentParser, Namespace
from collections.abc import Callable

from diagnose.errors import DiagnoseError

TYPE_CHECKING = False  # imported for `--help`: typing takes as long to import as argparse
if TYPE_CHECKING:
    from typing import TextIO

    from diagnose.report.answer import Answer

ANSWERED = 0


def add_water(parser: ArgumentParser) -> None:
    """Add the arguments of ``diagnose water``."""
    parser.add_argument("text", nargs="*", help="what is in it: Ca 72 mg/L, HCO3 133 mg/L; 14 dH, KH 9; 447 uS/cm")
    parser.add_argument("--blend", metavar="WATER", help="a second water to blend with, told in the same way")
    parser.add_argument("--to-alkalinity", metavar="N", help="what the blend shall reach (mg/L as CaCO3, or N dH ...)")
    parser.add_argument("--to-hardness", metavar="N", help="the same for hardness")
    parser.add_argument("--to-tds", metavar="N", help="the same for dissolved solids (mg/L)")
    parser.add_argument("--dose", metavar="VOLUME", help="build the water up with salts: how much of it, such as 5L")
    parser.add_argument("--hardness", metavar="N", help="hardness to dose to (mg/L as CaCO3, or N dH ...)")
    parser.add_argument("--alkalinity", metavar="N", help="alkalinity to dose to")
    parser.add_argument("--hardness-salt", metavar="SALT", help="MgSO4.7H2O (default), CaCl2.2H2O, CaSO4.2H2O ...")
    parser.add_argument("--alkalinity-salt", metavar="SALT", help="NaHCO3 (default) or KHCO3")
    parser.add_argument("--concentrate", metavar="G_PER_L", help="salt in a litre of concentrate (default 50 g)")


def add_milk(parser: ArgumentParser) -> None:
    """Add the argument of ``diagnose milk``."""
    parser.add_argument("text", nargs="+", help="the jug: 200 g from 5 to 65 C at 1.0 bar gauge, 30 s to 40 C")


def water(options: Namespace, width: int, *, as_json: bool = False) -> int:
    """Answer a text about a water; return 0. Raises DiagnoseError when it cannot be answered."""
    from diagnose.report.water_answer import answer
    from diagnose.report.water_options import recipe_of, request_of

    return _print(lambda: answer(request_of(options), recipe_of(options)), sys.stdout, width, as_json=as_json)


def milk(options: Namespace, width: int, *, as_json: bool = False) -> int:
    """Answer a text about a jug of milk; return 0. Raises DiagnoseError when it cannot be answered."""
    from diagnose.report.milk_answer import answer
    from diagnose.report.milk_reading import read_jug

    return _print(lambda: answer(read_jug(" ".join(options.text))), sys.stdout, width, as_json=as_json)


def _print(answer: "Callable[[], Answer]", out: "TextIO", width: int, *, as_json: bool) -> int:
    """Print the answer, or as JSON the reason why there is none before it is raised on."""
    import io
    import json

    from diagnose.report.answer import FORMAT
    from diagnose.terminal.layout import wrapped

    if isinstance(out, io.TextIOWrapper) and out.errors != "replace":
        out.reconfigure(errors="replace")
    try:
        made = answer()
    except DiagnoseError as error:
        if as_json:
            out.write(json.dumps({"format": FORMAT, "error": str(error)}, ensure_ascii=False) + "\n")
        raise
    if as_json:
        out.write(json.dumps(made.to_dict(), ensure_ascii=False) + "\n")
    else:
        out.write("\n".join(wrapped(made.text, width)) + "\n")
    return ANSWERED
