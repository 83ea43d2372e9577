"""The rooms and their arrows: who may import whom, held to the table in DEVELOPERS.md."""

import ast
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parent.parent / "diagnose"

# A room may import itself, the nouns (model, errors) and what stands here.
ALLOWED: dict[str, set[str]] = {
    "model": set(),
    "errors": set(),
    "rulebase": set(),
    "science": set(),
    "case": {"rulebase", "science"},
    "inference": {"rulebase", "case"},
    "sizing": {"rulebase", "science", "case"},
    "language": {"rulebase"},
    "explanation": {"rulebase", "case", "inference"},
    "logbook": set(),
    "conversation": {
        "rulebase",
        "science",
        "case",
        "inference",
        "sizing",
        "language",
        "explanation",
        "logbook",
        "upkeep",
    },
    "practice": {"rulebase", "science", "case", "inference", "sizing", "conversation", "terminal"},
    "report": {"rulebase", "science", "language", "terminal"},
    "upkeep": {"rulebase", "science", "logbook"},
    "terminal": {"conversation", "rulebase"},
}
TOP_LEVEL = {"cli", "__main__", "__init__", "rules_command", "log_command", "care_command"}
ONLY_IMPORTER = {"durable_rules_engine": "inference/engine.py", "prompt_toolkit": "terminal/interactive.py"}
FORBIDDEN = {"numpy", "scipy", "durable"}


def imports(path: Path) -> set[str]:
    """Return the full names of all modules a file imports, wherever in it."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            found |= {node.module} | {f"{node.module}.{alias.name}" for alias in node.names}
    return found


MODULES = sorted(PACKAGE.rglob("*.py"))


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_arrows_go_one_way(path: Path) -> None:
    """Every import of ours goes to a room the table allows."""
    room = path.relative_to(PACKAGE).parts[0].removesuffix(".py")
    if room in TOP_LEVEL:
        return
    assert room in ALLOWED, f"the room {room} is not in the table"
    ours = {name.split(".")[1] for name in imports(path) if name.startswith("diagnose.")}
    assert ours <= ALLOWED[room] | {room, "model", "errors"}


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_outside_packages_have_one_door(path: Path) -> None:
    """The engine and the prompt toolkit are imported in one module each; heavy numerics nowhere."""
    outside = {name.split(".")[0] for name in imports(path)}
    assert not outside & FORBIDDEN
    for package, door in ONLY_IMPORTER.items():
        assert package not in outside or str(path.relative_to(PACKAGE)) == door


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_modules_stay_short_enough_to_read(path: Path) -> None:
    """No module is longer than 400 lines."""
    assert len(path.read_text(encoding="utf-8").splitlines()) <= 400
