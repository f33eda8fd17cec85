"""Hypothesis profiles, and golden files that can be written anew.

`ci` (the default profile) draws the same examples each time, `dev` new ones: search for new
counterexamples with ``HYPOTHESIS_PROFILE=dev make test``. ``--update-golden`` writes the files that
tests compare with; look at the difference before it is committed.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

settings.register_profile("dev", deadline=None)
settings.register_profile(
    "ci", deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow]
)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "ci"))

Golden = Callable[[Path, str], None]


def pytest_addoption(parser: pytest.Parser) -> None:
    """Add the option that writes golden files."""
    parser.addoption("--update-golden", action="store_true", help="write the golden files anew")


@pytest.fixture
def golden(request: pytest.FixtureRequest) -> Golden:
    """Return what compares a text with a golden file, or writes it with ``--update-golden``."""

    def check(path: Path, text: str) -> None:
        if request.config.getoption("--update-golden"):
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(text, encoding="utf-8")
        assert path.read_text(encoding="utf-8") == text, f"{path.name}: see --update-golden"

    return check
