"""Reference checks that need large or unusual packages are collected only where those are installed."""

from importlib.util import find_spec

NEEDS = {"test_phreeqc.py": "phreeqpython", "test_pyagrum.py": "pyagrum"}

collect_ignore = [file for file, package in NEEDS.items() if find_spec(package) is None]
