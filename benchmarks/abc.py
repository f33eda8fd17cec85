"""Takes thousands of fiddle tunes in ABC through steps and fingering.

    python -m benchmarks.abc               all of them
    python -m benchmarks.abc --stride 50   a sample

The tunes are the public-domain collections that music21 ships: O'Neill (1903, 1907), Ryan (1883)
and Aird (1782 to 1801). Each tune is read through music21, fingered, and taken through five
pipelines with their contracts; all is written with tab and read again. Every tenth tune is fingered
after each pipeline too. A refusal in one line is an answer; a traceback, a broken contract or
output that is not valid is a fault. A full run writes its table to ``benchmarks/abc.md``. Exit code
1 on any fault.
"""

from __future__ import annotations

import argparse
import re
import sys
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from multiprocessing import get_context
from pathlib import Path

from benchmarks.corpus_files import label, music21_folder
from tests.xsd import validate
from variants.convert import format_of, read_other
from variants.convert.abc import tunes_of
from variants.errors import ContractBroken, NeckwiseError, Refusal
from variants.finish import finish
from variants.musicxml import read_bytes, to_bytes
from variants.pipeline import parse_pipeline, run
from variants.prepare import Strings, prepare
from variants.score import Score

REPORT = Path(__file__).with_name("abc.md")
COLLECTIONS = ("oneills1850", "ryansMammoth", "airdsAirs")
PIPELINES = (
    (),
    ("transpose:interval=M2",),
    ("transpose:semitones=-5,octave=fit",),
    ("single-string",),
    ("simplify-rhythm:grid=eighth",),
    ("simplify-rhythm:grid=quarter,keep=strong",),
)
# Fingering takes most of the time: after each pipeline only every tenth tune of a file has it.
_FINGER_STRIDE = 10
_CHECKS = ("read", *(" -> ".join(one) or "fingering alone" for one in PIPELINES))


@dataclass(slots=True)
class Sweep:
    """What came of the tunes.

    Args:
        tunes: How many there are, by collection.
        done: How often each check went well.
        refused: Refusals by (check, cause).
        faults: What must not be, one line each.
    """

    tunes: Counter[str] = field(default_factory=Counter)
    done: Counter[str] = field(default_factory=Counter)
    refused: Counter[tuple[str, str]] = field(default_factory=Counter)
    faults: list[str] = field(default_factory=list)

    def add(self, other: Sweep) -> None:
        """Take over what was found elsewhere."""
        self.tunes.update(other.tunes)
        self.done.update(other.done)
        self.refused.update(other.refused)
        self.faults += other.faults


def abc_files() -> list[Path]:
    """Return the ABC files of the three collections in order of their names."""
    root = music21_folder() / "corpus"
    return [path for name in COLLECTIONS for path in sorted((root / name).glob("*.abc"))]


def all_tunes(stride: int) -> Iterator[tuple[Path, int]]:
    """Yield every n-th tune as its file and its place in it."""
    place = 0
    for path in abc_files():
        text = path.read_bytes().decode("utf-8", "replace")
        for index in range(len(tunes_of(text))):
            if place % stride == 0:
                yield path, index
            place += 1


def examine(path: Path, index: int) -> Sweep:
    """Take one tune through everything."""
    found = Sweep()
    found.tunes[path.parent.name] += 1
    name = f"{label(path)}, tune {index + 1}"
    text = tunes_of(path.read_bytes().decode("utf-8", "replace"))[index].text
    kind = format_of(path.name)
    assert kind is not None
    try:
        raw = read_other(text.encode(), kind, name=path.name)
        score = prepare(raw, "auto", Strings())
    except NeckwiseError as error:
        _refusal("read", error, name, found)
        return found
    except Exception as error:  # noqa: BLE001 - a crash is what is looked for
        found.faults.append(f"{name}: read: {error!r}")
        return found
    found.done["read"] += 1
    for steps, check in zip(PIPELINES, _CHECKS[1:], strict=True):
        try:
            fault = _one(score, steps, is_fingered=not steps or index % _FINGER_STRIDE == 0)
        except NeckwiseError as error:
            _refusal(check, error, name, found)
        except Exception as error:  # noqa: BLE001 - as above
            found.faults.append(f"{name}: {check}: {error!r}")
        else:
            if fault:
                found.faults.append(f"{name}: {check}: {fault}")
            else:
                found.done[check] += 1
    return found


def _one(score: Score, steps: Sequence[str], *, is_fingered: bool) -> str:
    made = run(score, parse_pipeline(steps).steps).score
    if is_fingered:
        made = finish(made).score
    data = to_bytes(made, staves="both")
    faults = validate(data)
    if faults:
        return f"not valid: {faults[0]}"
    placed = [
        n for m in made.parts[0].measures for v in m.voices for e in v.events for n in e.notes
    ]
    if is_fingered and any(note.place is None for note in placed if note.pitch is not None):
        return "a note without a place"
    return "" if read_bytes(data, reading="concert").parts else "nothing is read again"


def _refusal(check: str, error: NeckwiseError, name: str, found: Sweep) -> None:
    text = str(error)
    if isinstance(error, ContractBroken) or "\n" in text or not error.way_out:
        found.faults.append(f"{name}: {check}: {text}")
        return
    if check != "read" and not isinstance(error, Refusal):
        found.faults.append(f"{name}: {check}: {type(error).__name__}: {text}")
        return
    plain = re.sub(r"\b[A-G][#b]*-?\d\b", "NOTE", error.cause)
    found.refused[check, re.sub(r"\b\d+([./]\d+)*\b", "N", plain)] += 1


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the sweep, print the table and return the exit code."""
    options = _parser().parse_args(arguments)
    jobs = list(all_tunes(options.stride))
    begun = time.perf_counter()
    total = Sweep()
    with get_context("spawn").Pool(options.jobs, maxtasksperchild=400) as pool:
        for done, found in enumerate(pool.imap_unordered(_job, jobs), 1):
            total.add(found)
            for line in found.faults:
                print(line[:250], file=sys.stderr, flush=True)
            if done % 100 == 0:
                print(f"{done}/{len(jobs)}", file=sys.stderr, flush=True)
    text = report(total, seconds=time.perf_counter() - begun)
    print(text)
    if options.stride == 1:
        REPORT.write_text(text, encoding="utf-8")
    return int(bool(total.faults))


def _job(job: tuple[Path, int]) -> Sweep:
    return examine(*job)


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawTextHelpFormatter
    )
    parser.add_argument("--stride", type=int, default=1, help="take every n-th tune only")
    parser.add_argument("--jobs", type=int, default=1, help="processes (1)")
    return parser


def report(total: Sweep, *, seconds: float) -> str:
    """Return the table of a run as Markdown."""
    number = sum(total.tunes.values())
    told = ", ".join(f"{name} {times}" for name, times in sorted(total.tunes.items()))
    lines = [
        "# Fiddle tunes in ABC",
        "",
        "Made by `python -m benchmarks.abc`: public-domain tunes read through music21, fingered,",
        "and varied; each step's contract is checked, what is written is checked by the schema.",
        "",
        f"{number} tunes ({told}) in {seconds:.0f} seconds; {len(total.faults)} faults.",
        "",
        "| check | done | refused |",
        "|---|--:|--:|",
    ]
    for check in _CHECKS:
        times = sum(n for (name, _), n in total.refused.items() if name == check)
        lines.append(f"| {check} | {total.done[check]} | {times} |")
    lines += ["", "## Refused", "", "| check | cause | times |", "|---|---|--:|"]
    ordered = sorted(total.refused.items(), key=lambda one: (_CHECKS.index(one[0][0]), -one[1]))
    lines += [f"| {check} | {cause} | {times} |" for (check, cause), times in ordered]
    lines += ["", *(f"- {line[:200]}" for line in total.faults[:40])]
    return "\n".join(lines).rstrip() + "\n"


if __name__ == "__main__":
    sys.exit(main())
