"""A file of the corpus on a guitar, fingered, and looked at again by `tests.oracles.hands`."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field, replace
from pathlib import Path

from tests.oracles.corpus_files import label
from tests.oracles.hands import GO, check_part
from variants.errors import ContractBroken, NeckwiseError
from variants.finish import finish
from variants.musicxml import read
from variants.score import STANDARD_GUITAR, Event, Note, Part, events, map_notes
from variants.variant import proven

# The fingers of every stroke, also of chords that stay.
EACH = "fingering=each"
_OCTAVES = (0, -1, 1, -2, 2)


@dataclass(slots=True)
class Tally:
    """What came of the parts so far."""

    fingered: int = 0
    notes: int = 0
    let_go: int = 0
    refused: Counter[str] = field(default_factory=Counter)
    faults: list[str] = field(default_factory=list)


def on_guitar(part: Part) -> Part:
    """Return the part on a standard guitar throughout, moved by the octaves that suit its range."""
    part = without_tunings(part)
    heights = [n.pitch.midi for _, e in events(part) for n in e.notes if n.pitch is not None]
    low, high = STANDARD_GUITAR.lowest, STANDARD_GUITAR.highest
    for octaves in _OCTAVES:
        if heights and low <= min(heights) + 12 * octaves <= max(heights) + 12 * octaves <= high:
            return replace(moved(part, octaves), instrument=STANDARD_GUITAR)
    return replace(part, instrument=STANDARD_GUITAR)


def without_tunings(part: Part) -> Part:
    """Return the part without tunings that set in on the way."""
    bare = tuple(
        replace(m, attributes=tuple(replace(a, instrument=None) for a in m.attributes))
        for m in part.measures
    )
    return replace(part, measures=bare)


def moved(part: Part, octaves: int) -> Part:
    """Return the part some octaves higher, without places."""

    def move(note: Note) -> Note:
        if note.pitch is None:
            return note
        return replace(note, pitch=note.pitch.moved_octaves(octaves), place=None, finger="")

    return map_notes(part, move)


def run_file(path: Path, tally: Tally) -> None:
    """Finger every part of a file and add what came of it."""
    try:
        score = read(path)
    except NeckwiseError:
        return  # what cannot be read is the matter of `benchmarks.corpus`
    for part in score.parts:
        alone = replace(score, parts=(on_guitar(part),), changes=())
        if not any(event.is_struck for _, event in events(part)):
            continue
        try:
            done = proven(alone, finish(alone, keep_places=False, marks=EACH))
        except ContractBroken as error:
            tally.faults.append(f"{label(path)}: {error}")
            continue
        except NeckwiseError as error:
            tally.refused[_reason(error)] += 1
            if "\n" in str(error) or not (error.place and error.way_out):
                tally.faults.append(f"{label(path)}: unclear refusal: {error}")
            continue
        tally.fingered += 1
        tally.notes += sum(len(_played(event)) for _, event in events(done.parts[0]))
        tally.let_go += sum(change.message.endswith(GO) for change in done.changes)
        faults = check_part(done, done.parts[0], done.changes)
        tally.faults += [f"{label(path)}, {part.id}, {fault}" for fault in faults]


def _played(event: Event) -> tuple[Note, ...]:
    return event.notes if not event.is_cue else ()


def _reason(error: NeckwiseError) -> str:
    words = ["N" if any(sign.isdigit() for sign in word) else word for word in error.cause.split()]
    return " ".join(words)[:90]
