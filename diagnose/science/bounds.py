"""The one check every formula makes first: is the number inside what the formula covers?"""

from diagnose.errors import OutOfRange


def within(value: float, low: float, high: float, what: str, unit: str = "") -> float:
    """Return `value` when low <= value <= high.

    Raises OutOfRange naming `what`, the range and the unit otherwise; not-a-number is never inside.
    """
    if not low <= value <= high:
        space = " " if unit else ""
        raise OutOfRange(
            f"{what} of {value:g}{space}{unit} is outside the range this covers, "
            f"{low:g} to {high:g}{space}{unit}: check the number and its unit."
        )
    return value
