"""Starting: quick, and without what a call does not need."""

from __future__ import annotations

import subprocess
import sys

import pytest

from tests.cli.calling import ROOT, call, is_one_line

HEAVY = ("music21", "verovio", "numpy", "lxml", "typst", "matplotlib", "rich")


def _imported(*words: str) -> set[str]:
    """Return which heavy libraries a call of the program has imported when it ends."""
    code = (
        "import sys\n"
        "from cli.main import run\n"
        f"code = run({list(words)!r})\n"
        f"print('heavy:', *[name for name in {HEAVY!r} if name in sys.modules])\n"
        "sys.exit(code)\n"
    )
    done = subprocess.run(  # noqa: S603 - our own code
        [sys.executable, "-c", code],
        capture_output=True,
        cwd=ROOT,
        check=True,
        text=True,
        timeout=60,
    )
    return set(done.stdout.splitlines()[-1].split()[1:])


@pytest.mark.parametrize(
    "words",
    [
        ("--help",),
        ("--version",),
        ("vary", "--help"),
        ("describe", "--help"),
        ("list", "steps"),
        ("list", "tunings"),
    ],
)
def test_light(words: tuple[str, ...]) -> None:
    """Help and lists import no library for music, numbers or XML."""
    assert _imported(*words) == set()


def test_library_starts_light() -> None:
    """Importing the library itself is light too."""
    code = f"import sys, variants; print(*[n for n in {HEAVY!r} if n in sys.modules])"
    done = subprocess.run(  # noqa: S603 - our own code
        [sys.executable, "-c", code], capture_output=True, cwd=ROOT, check=True, text=True
    )
    assert done.stdout.split() == []


def test_bare_call_is_help() -> None:
    """A call without a command shows what there is."""
    done = call()
    assert done.code == 0
    for name in ("describe", "vary", "finger", "ways", "list"):
        assert f"  {name} " in done.out


def test_every_command_has_help() -> None:
    """Each command says what it does and names its options."""
    for name in ("describe", "vary", "finger", "ways", "list"):
        done = call(name, "--help")
        assert done.code == 0
        assert f"neckwise {name}" in done.out
        assert "--json" in done.out


def test_a_defect_is_one_line(monkeypatch: pytest.MonkeyPatch) -> None:
    """Even an error that nobody thought of is no traceback."""

    def fail(*_: object, **__: object) -> None:
        raise ZeroDivisionError("by\nzero")

    monkeypatch.setattr("cli.commands.list._LISTS", {"steps": fail})
    done = call("list", "steps")
    assert done.code == 2
    assert is_one_line(done.err)
    assert "ZeroDivisionError" in done.err
