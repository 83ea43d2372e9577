"""The map: causes against findings, with a sign where a cause says something of a finding."""

from collections.abc import Mapping, Sequence
from textwrap import wrap

from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.cards.listing import FORMAT, NAME_WIDTH, WIDTH, filed
from diagnose.rulebase.schema import Cause
from diagnose.rulebase.vocabulary import COMPLAINTS, GRADES

CELL = 3
LEGEND = "+ for some level   ++ strongly   - only against   -- strongly against   0 neutral   ! needed   . says nothing"


def map_dict(base: RuleBase, complaints: Sequence[str] = COMPLAINTS) -> dict[str, object]:
    """Return for each complaint its causes, its findings and the sign where a cause says something of a finding."""
    pages = {}
    for complaint in complaints:
        causes = _causes(base, complaint)
        signs = {cause: _signs(base.causes[cause]) for cause in causes}
        if causes:
            pages[complaint] = {"causes": causes, "findings": _columns(base, signs), "signs": signs}
    return {"format": FORMAT, "complaints": pages}


def map_text(base: RuleBase, complaints: Sequence[str] = COMPLAINTS) -> str:
    """Return the map, one page for each complaint; a page too wide is continued below with the next findings."""
    pages = []
    for complaint in complaints:
        causes = _causes(base, complaint)
        if causes:
            pages.append(_page(base, complaint, {cause: _signs(base.causes[cause]) for cause in causes}))
    return "\n\n\n".join(pages)


def _page(base: RuleBase, complaint: str, signs: Mapping[str, Mapping[str, str]]) -> str:
    columns = _columns(base, signs)
    lines = [f"{complaint.upper()} (causes: {len(signs)}, findings: {len(columns)})", LEGEND]
    fitting = (WIDTH - NAME_WIDTH) // CELL
    for start in range(0, len(columns), fitting):
        block = columns[start : start + fitting]
        numbers = range(start + 1, start + 1 + len(block))
        lines += [
            "",
            *wrap("   ".join(f"{n}\N{NO-BREAK SPACE}{f}" for n, f in zip(numbers, block, strict=True)), WIDTH),
        ]
        lines += ["", " " * NAME_WIDTH + "".join(f"{number:>{CELL}}" for number in numbers)]
        for cause, row in signs.items():
            cells = "".join(f"{row.get(finding, '.'):>{CELL}}" for finding in block)
            lines.append(f"{cause[: NAME_WIDTH - 1]:<{NAME_WIDTH}}{cells}")
    return "\n".join(lines).replace("\N{NO-BREAK SPACE}", " ")


def _causes(base: RuleBase, complaint: str) -> list[str]:
    return [name for name in filed(base, "causes") if complaint in base.causes[name].complaints]


def _columns(base: RuleBase, signs: Mapping[str, Mapping[str, str]]) -> list[str]:
    """Return the findings that stand in any row, filed by area."""
    named = {finding for row in signs.values() for finding in row}
    return [finding for finding in filed(base, "findings") if finding in named]


def _signs(cause: Cause) -> dict[str, str]:
    """Return the sign of each finding a cause shows, and ``!`` for those it needs."""
    signs = {condition.finding: "!" for condition in cause.needs if condition.finding is not None}
    for finding in dict.fromkeys(show.finding for show in cause.shows):
        shows = [show for show in cause.shows if show.finding == finding]
        weights = [GRADES[grade] for show in shows for grade in show.levels.values()]
        signs[finding] = _sign(max(weights), min(weights))
    return signs


def _sign(highest: float, lowest: float) -> str:
    """Return the sign of the strongest grade for some level or, if there is none, against; ``0`` if all are neutral."""
    strongest = highest if highest > 0 else lowest
    mark = "+" if strongest > 0 else "-"
    return mark * (2 if abs(strongest) >= GRADES["strong"] else 1) if strongest else "0"
