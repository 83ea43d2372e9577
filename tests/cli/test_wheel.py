"""The wheel works by itself: built, installed in an empty environment outside the checkout, and asked a question."""

import json
import os
import subprocess
import sys
import venv
import zipfile
from pathlib import Path

import pytest

CHECKOUT = Path(__file__).parent.parent.parent
BUILD_FLAGS = {"CPPFLAGS": "-DPyEval_CallObject=PyObject_CallObject"}


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Build the wheel with the build backend itself, without a network."""
    folder = tmp_path_factory.mktemp("wheel")
    command = [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(folder)]
    subprocess.run(command, cwd=CHECKOUT, check=True, capture_output=True)
    (found,) = folder.glob("*.whl")
    return found


def test_the_rules_reach_the_wheel(wheel: Path) -> None:
    """Every rule file of the checkout is in the wheel, where the package looks for it."""
    names = set(zipfile.ZipFile(wheel).namelist())
    rules = {f"diagnose/_rules/{path.relative_to(CHECKOUT / 'rules')}" for path in (CHECKOUT / "rules").rglob("*.yaml")}
    assert len(rules) > 100
    assert rules <= names
    assert "diagnose/py.typed" in names


@pytest.mark.slow
def test_an_empty_environment_answers_outside_the_checkout(wheel: Path, tmp_path: Path) -> None:
    """Installed by pip into a new environment, the command answers with its own copy of the rules."""
    home = tmp_path / "environment"
    venv.create(home, with_pip=True)
    programs = home / ("Scripts" if os.name == "nt" else "bin")
    clean = {name: value for name, value in os.environ.items() if not name.startswith(("PYTHON", "DIAGNOSE"))}
    install = [str(programs / "python"), "-m", "pip", "install", "--quiet", str(wheel)]
    subprocess.run(install, cwd=tmp_path, check=True, env=clean | BUILD_FLAGS)
    text = "18 g in, 44 g out in 16 s, sour, recipe is 18 in 36 out 27 s"
    ask = [str(programs / "diagnose"), "ask", "--json", "--setting", "service", text]
    answer = subprocess.run(ask, cwd=tmp_path, check=True, env=clean, capture_output=True, text=True)
    assert json.loads(answer.stdout)["causes"][0]["id"] == "grind_too_coarse"
