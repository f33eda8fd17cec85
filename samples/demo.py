"""What `make demo` runs: one riff becomes a graded set, and a melody three versions.

Every line of the table is a call of the real command line.
"""

from __future__ import annotations

import contextlib
import io
import json
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from cli.main import run
from cli.text import show, table, wrapped

ROOT = Path(__file__).resolve().parents[1]
FOLDER = ROOT / "out" / "demo"
_READ = "read"


@dataclass(frozen=True, slots=True)
class Wanted:
    """One variant: a name for its file, and the words of the call."""

    name: str
    words: tuple[str, ...]


def _steps(*texts: str) -> tuple[str, ...]:
    return tuple(word for text in texts for word in ("-s", text))


RIFF = (
    Wanted("reading-only", ("--staves", "notation", "--mark", "none")),
    Wanted("open-position", ("--open-strings", "prefer", "--position", "1")),
    Wanted("fret-5", _steps("shift-position:position=5")),
    Wanted("fourths", _steps("invert-dyads")),
    Wanted(
        "string-6",
        _steps("reduce-chords:to=root", "single-string:string=6,move=always"),
    ),
    Wanted("string-5", _steps("reduce-chords:to=root", "single-string:string=5")),
    Wanted("on-the-beat", _steps("simplify-rhythm:grid=quarter,keep=strong")),
    Wanted("e-minor", _steps("transpose:key=E minor")),
    Wanted("d-minor", _steps("transpose:key=D minor")),
    Wanted(
        "first-lesson",
        (
            *_steps("reduce-chords:to=root", "single-string:string=5"),
            *_steps("simplify-rhythm:grid=quarter,keep=strong"),
            *("--hand", "small", "--mark", "fingering,positions,counting"),
        ),
    ),
)
MELODY = (
    Wanted("with-tab", ()),
    Wanted("c-major", _steps("transpose:key=C major")),
    Wanted("string-4", _steps("single-string:string=4")),
)
SETS = (("harbour-riff", RIFF), ("auld-lang-syne", MELODY))


def _call(words: list[str]) -> dict[str, Any]:
    """Run one call of the command line and return its report; end the demo if it fails."""
    out = io.StringIO()
    with contextlib.redirect_stdout(out):
        code = run([*words, "--json"])
    if code:
        raise SystemExit(code)
    report: dict[str, Any] = json.loads(out.getvalue())
    return report


def _changes(report: dict[str, Any]) -> str:
    """Return what each step says first of its changes, and how many lines follow."""
    by_step: dict[str, list[str]] = {}
    for change in report["changes"]:
        if change["step"] != _READ:
            by_step.setdefault(change["step"], []).append(change["message"])
    firsts = "; ".join(messages[0] for messages in by_step.values())
    left = sum(map(len, by_step.values())) - len(by_step)
    more = f" (and {left} more)" if left else ""
    if not firsts:
        return "fingered" if report["positions"] else "notation alone"
    return firsts + more


def _range(report: dict[str, Any]) -> str:
    return f"{report['range']['lowest']} to {report['range']['highest']}"


def _make(sample: str, wanted: Wanted, folder: Path) -> tuple[str, ...]:
    out = folder / f"{sample}-{wanted.name}.musicxml"
    report = _call(["vary", f"samples/{sample}.musicxml", *wanted.words, "-o", str(out)])
    return (
        wanted.name,
        report["key"] or "-",
        _range(report),
        report["positions"] or "-",
        _changes(report),
    )


def main(folder: Path = FOLDER) -> None:
    """Make every variant in a folder and print the table."""
    folder.mkdir(parents=True, exist_ok=True)
    with contextlib.chdir(ROOT):
        for sample, every in SETS:
            rows = [_make(sample, wanted, folder) for wanted in every]
            heads = ("variant", "key", "range", "positions", "what changed")
            show([f"samples/{sample}.musicxml", "", *table(heads, rows), ""])
    made = sum(len(every) for _, every in SETS)
    shown = folder.relative_to(ROOT) if folder.is_relative_to(ROOT) else folder
    show(
        wrapped(
            f"{made} variants, each proven against its source and read again after it was "
            f"written, are in {shown}/: open them in any program that reads MusicXML."
        )
    )
    sys.stdout.flush()


if __name__ == "__main__":
    main()
