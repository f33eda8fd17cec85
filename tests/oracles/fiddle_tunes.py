"""Fiddle tunes in ABC, each taken through steps and fingering: what must not be is told.

The tunes are the public-domain collections that music21 ships: O'Neill (1903, 1907), Ryan (1883)
and Aird (1782 to 1801).
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from tests.oracles.corpus_files import label, music21_folder
from tests.xsd import validate
from variants.convert import format_of, read_other
from variants.convert.abc import tunes_of
from variants.errors import ContractBroken, NeckwiseError, Refusal
from variants.finish import finish
from variants.musicxml import read_bytes, to_bytes
from variants.pipeline import parse_pipeline, run
from variants.prepare import Strings, prepare
from variants.score import Score

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
CHECKS = ("read", *(" -> ".join(one) or "fingering alone" for one in PIPELINES))


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
    for steps, check in zip(PIPELINES, CHECKS[1:], strict=True):
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
