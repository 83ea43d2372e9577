"""The loaded rule base: every rule by its id, and where each stands in the files."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from diagnose.rulebase.reading import Document
from diagnose.rulebase.schema import Cause, Finding, Notice, Prices, Reference, Step

Kind = str  # "causes" | "findings" | "steps" | "notices" | "words" | "sources" | "costs"
KINDS: tuple[Kind, ...] = ("causes", "findings", "steps", "notices")
LANGUAGE = "en"


@dataclass(frozen=True, slots=True)
class RuleBase:
    """Everything the rule files say. Mappings keep file order (sorted by id), so results do not depend on the disk.

    `costs` are the prices everything to do or to ask is weighed by; `areas` maps a cause or finding id to the folder it
    is filed in; `words` holds the general words of each language, `wording` what is said around the rules' own texts;
    `documents` maps (kind, id) to the file as read, for places in messages and traces.
    """

    causes: Mapping[str, Cause]
    findings: Mapping[str, Finding]
    steps: Mapping[str, Step]
    notices: Mapping[str, Notice]
    sources: Mapping[str, Reference]
    costs: Prices
    words: Mapping[str, Mapping[str, object]]
    wording: Mapping[str, object]
    areas: Mapping[str, str]
    documents: Mapping[tuple[Kind, str], Document] = field(repr=False)

    def document(self, kind: Kind, name: str) -> Document:
        """Return the file that defines `name`."""
        return self.documents[(kind, name)]

    def text(self, texts: Mapping[str, str], language: str = LANGUAGE) -> str:
        """Return a text in `language`, falling back to English and then to any language it has."""
        return texts.get(language) or texts.get(LANGUAGE) or next(iter(texts.values()))

    def cause_name(self, cause: str) -> str:
        """Return the readable name of a cause."""
        return self.text(self.causes[cause].name)
