"""What both reports share in reading: the question that has to be answered first, and saying a number back."""

from diagnose.errors import DiagnoseError
from diagnose.report.amounts import Amount
from diagnose.report.digits import plain


class Asked(DiagnoseError):
    """A number cannot be used before a question is answered; the message is the question, with an example."""


def number_text(amount: Amount) -> str:
    """Return the number as it was written, both ends of a range, with a point for a decimal comma."""
    return " to ".join(("-" if one.value < 0.0 else "") + _point(one.text) for one in amount.numbers)


def _point(text: str) -> str:
    whole, comma, rest = text.partition(",")
    return f"{whole}.{rest}" if comma and len(rest) <= 2 else text


def amount_text(amount: Amount, unit: str) -> str:
    """Return an amount for saying back, with what was made of a range or a bound."""
    said = f"{amount.bound} {number_text(amount)} {unit}".strip()
    if len(amount.numbers) > 1:
        return f"{said} ({plain(amount.value)} taken)"
    return f"{said} (taken as {number_text(amount)})" if amount.bound in {"below", "above"} else said
