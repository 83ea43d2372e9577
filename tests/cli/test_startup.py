"""What the command imports: quick help, no prompt toolkit in a pipe, no numerics anywhere."""

import subprocess
import sys

import pytest

HEAVY = ("yaml", "pydantic", "prompt_toolkit", "durable_rules_engine", "rapidfuzz", "numpy", "sqlite3")


def imported(*arguments: str, typed: str = "") -> set[str]:
    """Run the command with an import log and return the top-level modules it imported."""
    run = subprocess.run(
        [sys.executable, "-X", "importtime", "-m", "diagnose", *arguments],
        input=typed,
        capture_output=True,
        text=True,
        check=False,
    )
    assert run.returncode == 0, run.stderr[-500:]
    lines = (line for line in run.stderr.splitlines() if line.startswith("import time:"))
    return {line.split("|")[-1].strip().split(".")[0] for line in lines}


@pytest.mark.parametrize("arguments", [("--help",), ("--version",), ("ask", "--help")])
def test_help_imports_nothing_heavy(arguments: tuple[str, ...]) -> None:
    """Help and version need none of the libraries."""
    assert imported(*arguments).isdisjoint(HEAVY)


def test_a_piped_chat_does_without_prompt_toolkit_and_numerics() -> None:
    """A pipe gets plain lines."""
    assert imported(typed="18 g in, 36 g out, 27 s\n").isdisjoint({"prompt_toolkit", "numpy", "scipy", "durable"})
