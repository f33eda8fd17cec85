"""No impossible hand: every part of the corpus that a guitar could play, fingered and checked.

    python -m benchmarks.fingering_corpus [--stride N] [--seconds S]

Each part of every file that music21 ships is put on a standard guitar (a part that does not fit by
whole octaves too), fingered, and looked at again by checks of its own: what each place sounds,
one note a string, one fret a finger, fingers in the order of frets and strings, the span in
millimetres. A part that cannot be played must be refused in one line.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from pathlib import Path

from benchmarks.corpus_files import corpus_files, label
from variants.errors import NeckwiseError
from variants.finish import finish
from variants.guitar.hand import Hand
from variants.musicxml import read
from variants.score import STANDARD_GUITAR, Event, Note, Part, events

_OCTAVES = (0, -1, 1, -2, 2)


@dataclass(slots=True)
class Tally:
    """What came of the parts so far."""

    fingered: int = 0
    notes: int = 0
    refused: Counter[str] = field(default_factory=Counter)
    faults: list[str] = field(default_factory=list)


def check_part(part: Part) -> Iterator[str]:
    """Yield what is impossible in a fingered part; nothing when a hand can play it."""
    together: dict[tuple[int, int, int], list[Note]] = {}
    for count, (index, event) in enumerate(events(part)):
        if event.is_cue:
            continue
        # Grace notes are struck one after the other; what voices strike at once is one grip.
        grace = 0 if event.grace is None else count + 1
        here = together.setdefault((index, event.onset, grace), [])
        here += [n for n in event.notes if n.pitch is not None and not n.tie_stop]
    for (index, _, _), struck in sorted(together.items(), key=lambda item: item[0]):
        for fault in check_grip(_without_doubles(struck), part):
            yield f"measure {part.measures[index].number}: {fault}"


def _without_doubles(struck: list[Note]) -> list[Note]:
    """Return the notes without those that two voices write for one sound."""
    found = {(note.pitch, note.place, note.finger): note for note in struck}
    return list(found.values())


def check_grip(struck: list[Note], part: Part) -> Iterator[str]:
    """Yield what is impossible in notes that are struck together."""
    placed = [(n, n.place, n.finger) for n in struck if n.place is not None]
    if len(placed) < len(struck):
        yield "a note has no place"
        return
    for note, place, finger in placed:
        sounds = part.instrument.sounding(place) if part.instrument else None
        if note.pitch is None or sounds != note.pitch.midi:
            yield f"{place} does not sound {note.pitch}"
        if (place.fret == 0) != (finger == "0"):
            yield f"finger {finger} at fret {place.fret}"
    strings = [place.string for _, place, _ in placed]
    if len(set(strings)) < len(strings):
        yield "two notes on one string"
    stopped = sorted((int(f), p.fret, p.string) for _, p, f in placed if p.fret and f != "T")
    yield from check_fingers(stopped)


def check_fingers(stopped: list[tuple[int, int, int]]) -> Iterator[str]:
    """Yield what is impossible in (finger, fret, string), sorted by finger."""
    hand = Hand.of("medium")
    for i, (finger, fret, string) in enumerate(stopped):
        for other, its_fret, its_string in stopped[i + 1 :]:
            if finger == other:
                if fret != its_fret:
                    yield f"finger {finger} at frets {fret} and {its_fret}"
            elif its_fret < fret:
                yield f"finger {other} at fret {its_fret}, finger {finger} at fret {fret}"
            elif its_fret == fret and its_string > string:
                yield f"fingers {finger} and {other} crossed at fret {fret}"
            else:
                span = 650.0 * (2 ** (-fret / 12) - 2 ** (-its_fret / 12))
                if span > hand.limit_mm(finger, other) + 0.1:
                    yield f"{span:.0f} mm between fingers {finger} and {other}"


def on_guitar(part: Part) -> Part:
    """Return the part on a standard guitar, moved by the octaves that suit its range."""
    heights = [n.pitch.midi for _, e in events(part) for n in e.notes if n.pitch is not None]
    low, high = STANDARD_GUITAR.lowest, STANDARD_GUITAR.highest
    for octaves in _OCTAVES:
        if heights and low <= min(heights) + 12 * octaves <= max(heights) + 12 * octaves <= high:
            return replace(moved(part, octaves), instrument=STANDARD_GUITAR)
    return replace(part, instrument=STANDARD_GUITAR)


def moved(part: Part, octaves: int) -> Part:
    """Return the part some octaves higher, without places."""
    from variants.score import map_notes

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
            done = finish(alone, keep_places=False).score.parts[0]
        except NeckwiseError as error:
            tally.refused[_reason(error)] += 1
            if "\n" in str(error) or not (error.place and error.way_out):
                tally.faults.append(f"{label(path)}: unclear refusal: {error}")
            continue
        tally.fingered += 1
        tally.notes += sum(len(_played(event)) for _, event in events(done))
        tally.faults += [f"{label(path)}, {part.id}, {fault}" for fault in check_part(done)]


def _played(event: Event) -> tuple[Note, ...]:
    return event.notes if not event.is_cue else ()


def _reason(error: NeckwiseError) -> str:
    words = ["N" if any(sign.isdigit() for sign in word) else word for word in error.cause.split()]
    return " ".join(words)[:90]


def main() -> int:
    """Run the sweep and print its table; 1 when there is a fault."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--stride", type=int, default=1)
    parser.add_argument("--seconds", type=float, default=1e9)
    wishes = parser.parse_args()
    tally, start, files = Tally(), time.perf_counter(), 0
    for path in corpus_files()[:: wishes.stride]:
        if time.perf_counter() - start > wishes.seconds:
            break
        run_file(path, tally)
        files += 1
    print(f"{files} files, {tally.fingered} parts fingered with {tally.notes} notes")
    for reason, count in tally.refused.most_common():
        print(f"{count:6} refused: {reason}")
    print(f"{len(tally.faults)} faults")
    for fault in tally.faults[:40]:
        print(f"  {fault}")
    return 1 if tally.faults else 0


if __name__ == "__main__":
    sys.exit(main())
