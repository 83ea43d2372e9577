"""An answer in both its forms: plain lines, and one flat object with a format number and a unit in every name."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from diagnose.report.digits import Figure

FORMAT = 1

Value = str | float | bool | None | list[str]


@dataclass(slots=True)
class Answer:
    """Collects the blocks of text and the fields of the object while a report is written."""

    report: str
    blocks: list[list[str]] = field(default_factory=list)
    fields: dict[str, Value] = field(default_factory=dict)

    def block(self, *lines: str) -> None:
        """Add lines that belong together."""
        self.blocks.append(list(lines))

    def listed(self, heading: str, lines: Sequence[str], name: str) -> None:
        """Add a heading with a line for each entry, and the entries as a list of the object."""
        self.fields[name] = list(lines)
        if lines:
            self.block(heading, *(f"  {line}" for line in lines))

    def figures(self, figures: Mapping[str, Figure | None]) -> None:
        """Enter figures with the digits they deserve; None where there is none."""
        self.fields |= {name: None if one is None else one.rounded for name, one in figures.items()}

    @property
    def text(self) -> str:
        """Return the blocks with an empty line between them."""
        return "\n\n".join("\n".join(block) for block in self.blocks)

    def to_dict(self) -> dict[str, Value]:
        """Return the flat object; a list is [] when empty, anything else null when it is not known."""
        return {"format": FORMAT, "report": self.report, **self.fields, "text": self.text}
