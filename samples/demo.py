"""What `make demo` runs: one riff becomes a graded set, and a melody three versions.

Every line of the table is a call of the real command line; the call is printed with it, so that
any of them can be typed by hand.
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
_MOST_MESSAGES = 3


@dataclass(frozen=True, slots=True)
class Wanted:
    """One variant: a name for its file, what it is for, and the words of the call."""

    name: str
    purpose: str
    words: tuple[str, ...]


def _steps(*texts: str) -> tuple[str, ...]:
    return tuple(word for text in texts for word in ("-s", text))


RIFF = (
    Wanted("reading-only", "reading only", ("--staves", "notation", "--mark", "none")),
    Wanted("open-position", "open position", ("--open-strings", "prefer", "--position", "1")),
    Wanted("fret-5", "same notes around fret 5", _steps("shift-position:position=5")),
    Wanted("fourths", "fifths turned to fourths", _steps("invert-dyads")),
    Wanted(
        "string-6",
        "roots on string 6",
        _steps("reduce-chords:to=root", "single-string:string=6"),
    ),
    Wanted(
        "string-5",
        "roots on string 5",
        _steps("reduce-chords:to=root", "single-string:string=5"),
    ),
    Wanted("on-the-beat", "easier rhythm", _steps("simplify-rhythm:grid=quarter,keep=strong")),
    Wanted("e-minor", "in E minor", _steps("transpose:key=E minor")),
    Wanted("d-minor", "in D minor", _steps("transpose:key=D minor")),
    Wanted(
        "first-lesson",
        "one string, on the beat, for a small hand",
        (
            *_steps(
                "reduce-chords:to=root",
                "single-string:string=5",
                "simplify-rhythm:grid=quarter,keep=strong",
            ),
            *("--hand", "small"),
        ),
    ),
)
MELODY = (
    Wanted("with-tab", "as it is, fingered", ()),
    Wanted("c-major", "in C major", _steps("transpose:key=C major")),
    Wanted("one-string", "on string 4 alone", _steps("single-string:string=4")),
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
    """Return what the steps say that they changed, in short."""
    messages = dict.fromkeys(
        change["message"] for change in report["changes"] if change["step"] != _READ
    )
    shown = list(messages)[:_MOST_MESSAGES]
    left = len(messages) - len(shown)
    return "; ".join(shown) + (f"; and {left} more" if left else "") or "nothing"


def _range(report: dict[str, Any]) -> str:
    return f"{report['range']['lowest']} to {report['range']['highest']}"


def _make(sample: str, wanted: Wanted) -> tuple[str, ...]:
    source = f"samples/{sample}.musicxml"
    out = f"out/demo/{sample}-{wanted.name}.musicxml"
    report = _call(["vary", source, *wanted.words, "-o", out])
    return (
        wanted.purpose,
        report["key"] or "-",
        _range(report),
        report["positions"] or "-",
        _changes(report),
    )


def main() -> None:
    """Make every variant and print the table."""
    FOLDER.mkdir(parents=True, exist_ok=True)
    with contextlib.chdir(ROOT):
        for sample, every in SETS:
            rows = [_make(sample, wanted) for wanted in every]
            heads = ("variant", "key", "range", "positions", "what changed")
            show([f"samples/{sample}.musicxml", "", *table(heads, rows), ""])
    made = sum(len(every) for _, every in SETS)
    show(
        wrapped(
            f"{made} variants, each proven against its source and read again after it was "
            "written, are in out/demo/: open them in any program that reads MusicXML."
        )
    )
    sys.stdout.flush()


if __name__ == "__main__":
    main()
