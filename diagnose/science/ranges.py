"""One check for every number that enters a formula: inside its range, or an error that says the range and unit."""

from diagnose.errors import OutOfRange


def within(value: float, low: float, high: float, name: str, unit: str = "") -> float:
    """Return `value` if low <= value <= high; not-a-number never is.

    Raises OutOfRange with the name, the range and the unit.
    """
    if not low <= value <= high:
        space = " " if unit else ""
        raise OutOfRange(
            f"{name} of {value:g}{space}{unit} is outside the range this covers, "
            f"{low:g} to {high:g}{space}{unit}: check the number and its unit."
        )
    return value
