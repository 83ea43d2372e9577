"""Where the rule files are: beside the package in a checkout, inside it when installed, or where the user says."""

from pathlib import Path

from diagnose.errors import RuleBaseMissing
from diagnose.model import Problem


def rules_folder(given: str | Path | None = None) -> Path:
    """Return the folder that holds the rule files.

    `given` (from --rules or DIAGNOSE_RULES) wins. Raises RuleBaseMissing when there is no causes/ folder in it.
    """
    package = Path(__file__).resolve().parent.parent
    candidates = [Path(given)] if given else [package / "_rules", package.parent / "rules"]
    for folder in candidates:
        if (folder / "causes").is_dir():
            return folder
    todo = "Give a folder that holds causes/, findings/ and steps/ with --rules DIR or DIAGNOSE_RULES."
    raise RuleBaseMissing([Problem(str(candidates[-1]), 0, 0, "no-rules", "there is no rule base here.", todo)])
