"""Where the rule files are: beside the package in a checkout, inside it when installed, or where the user says."""

from pathlib import Path

from diagnose.errors import RuleBaseMissing


def rules_folder(given: str | Path | None = None) -> Path:
    """Return the folder that holds the rule files.

    `given` (from --rules or DIAGNOSE_RULES) wins. Raises RuleBaseMissing when there is no causes/ folder in it.
    """
    package = Path(__file__).resolve().parent.parent
    candidates = [Path(given)] if given else [package / "_rules", package.parent / "rules"]
    for folder in candidates:
        if (folder / "causes").is_dir():
            return folder
    raise RuleBaseMissing(candidates[-1])
