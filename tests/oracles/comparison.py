"""A file and what is written of it again, seen by eyes other than ours: what is missing.

Element by element in the XML (`tests.oracles.census`), as music21 reads them, as partitura reads
them, and by musicdiff. What is missing afterwards is *listed* if a line of the change log is about
it at its place, else it is *lost*.
"""

from __future__ import annotations

import re
import signal
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from tests.oracles.census import Fact, census, lost
from tests.oracles.corpus_files import label
from tests.oracles.other_readers import Found, by_music21, by_musicdiff, by_partitura
from variants.errors import NeckwiseError
from variants.musicxml import read, to_bytes
from variants.musicxml.source import unpacked
from variants.score import Score

# The other readers take minutes for a long quartet, and musicdiff, which compares all measures with
# each other, hours: those see the XML comparison alone.
_READ_MOST_BYTES = 2_000_000
_DIFF_MOST_BYTES = 100_000
_DIFF_SECONDS = 120
# What other readers find otherwise because of themselves: nothing is lost there.
THEIRS = {
    ("music21", "02e-Rests-NoType"): "a note without a staff is put on both staves",
    ("music21", "21f-Chord-ElementInBetween"): "a chord is split at a direction",
    ("music21", "24e-GraceNote-StaffChange"): "a grace note on another staff is put on the first",
    ("partitura", "01d-Pitches-Microtones"): "it has no quarter tones, which we print explicitly",
    ("partitura", "madrigal.3.1.mxl"): "a chord of two roots is one text to it",
    ("musicdiff", "41h-TooManyParts"): "music21 drops parts that the part list does not name",
    ("musicdiff", "testTab.xml"): "no durations, no pitches: ours come from note values and frets",
    ("partitura", "madrigal.3.16"): "the end of a slur is counted through empty measures",
}
# For each path of the census what a line of the log says that is about it.
_SAID = (
    ("attributes/clef", r"octave (lower|higher)|which the standard does not have"),
    ("attributes/key", r"<cancel>|<key-octave>"),
    ("attributes/transpose|attributes/staff|attributes/", r"were read as one|tuning"),
    ("direction/|harmony/|sound|figured", r"stood (past|before)|left out|is written as|were read"),
    ("note|notations/", (
        r"left out|another duration|printed value|the notation was kept|the fret was kept|"
        r"were read as one|is printed at|it was moved there|is not in the standard"
    )),
    ("score-part/|credit|defaults", r"left out|were read as one|part list"),
    ("barline/", r"left out|was put"),
)  # fmt: skip


@dataclass(slots=True)
class Comparison:
    """What came of one file, or of several.

    Args:
        files: Files compared by each reader.
        things: Things in the sources, by (reader, kind).
        lost: Things missing and not listed.
        listed: Things missing that the change log lists.
        explained: Things that the other reader misses because of itself; see `THEIRS`.
        examples: Lost things in words.
        refused: Files that are not read, and why.
        failed: Files that a reader itself cannot read, by reader.
    """

    files: Counter[str] = field(default_factory=Counter)
    things: Counter[tuple[str, str]] = field(default_factory=Counter)
    lost: Counter[tuple[str, str]] = field(default_factory=Counter)
    listed: Counter[tuple[str, str]] = field(default_factory=Counter)
    explained: Counter[tuple[str, str]] = field(default_factory=Counter)
    examples: list[str] = field(default_factory=list)
    refused: list[str] = field(default_factory=list)
    failed: Counter[str] = field(default_factory=Counter)

    def add(self, other: Comparison) -> None:
        """Take over what was found elsewhere."""
        for name in ("files", "things", "lost", "listed", "explained", "failed"):
            getattr(self, name).update(getattr(other, name))
        self.examples += other.examples
        self.refused += other.refused


def compare(
    path: Path,
    *,
    readers: bool = True,
    diff: bool = False,
    other: tuple[str, ...] = ("music21", "partitura"),
) -> Comparison:
    """Compare a file with itself after reading and writing.

    Args:
        path: The file.
        readers: Let other readers read both.
        diff: Let musicdiff compare both.
        other: Which readers.
    """
    found = Comparison()
    name = label(path)
    try:
        score = read(path)
    except NeckwiseError as error:
        found.refused.append(f"{name}: {error}")
        return found
    before, after = unpacked(path.read_bytes()), to_bytes(score)
    _by_census(name, score, before, after, found)
    if len(before) > _READ_MOST_BYTES:
        found.failed["too long for the other readers"] += 1
        return found
    known = {"music21": by_music21, "partitura": by_partitura}
    for reader in other if readers else ():
        _by_reader(reader, known[reader], (name, score, before, after), found)
    if diff:
        # Read as written: musicdiff would call the octave of a guitar another note.
        _by_diff(name, before, to_bytes(read(path, reading="concert")), found)
    return found


# -- the XML itself --------------------------------------------------------------------------


def _by_census(name: str, score: Score, before: bytes, after: bytes, found: Comparison) -> None:
    one, other = census(before), census(after)
    if any("were read as one" in str(line) for line in score.changes):
        one, other = _in_one_part(one), _in_one_part(other)
    found.files["XML"] += 1
    for fact, times in one.items():
        found.things["XML", _group(fact)] += times
    numbers = {
        (fact.part, fact.measure): fact.text for fact in one if fact.path == "measure/@number"
    }
    for fact in lost(one, other):
        if is_listed(fact, score, numbers.get((fact.part, fact.measure), "")):
            found.listed["XML", _group(fact)] += 1
        else:
            found.lost["XML", _group(fact)] += 1
            found.examples.append(f"XML: {name}: {fact}")


def _in_one_part(facts: Counter[Fact]) -> Counter[Fact]:
    merged: Counter[Fact] = Counter()
    for fact, times in facts.items():
        merged[Fact(0, fact.measure, fact.onset, fact.owner, fact.path, fact.text)] += times
    return merged


def _group(fact: Fact) -> str:
    head, _, tail = fact.path.partition("/")
    return fact.path if head in ("notations", "note") and tail.count("/") < 2 else head


def is_listed(fact: Fact, score: Score, number: str) -> bool:
    """Whether the change log has a line about a missing thing.

    Args:
        fact: What is missing.
        score: The score with its log.
        number: Printed number of its measure.
    """
    said = next((text for paths, text in _SAID if re.match(paths, fact.path)), "$^")
    return any(
        (not line.measure or line.measure == number) and re.search(said, line.message)
        for line in score.changes
    )


# -- other readers ---------------------------------------------------------------------------


def _by_reader(
    reader: str,
    read_by: Callable[[bytes], Counter[Found]],
    job: tuple[str, Score, bytes, bytes],
    found: Comparison,
) -> None:
    name, score, before, after = job
    try:
        one = read_by(before)
    except Exception:  # noqa: BLE001 - what another reader cannot read says nothing of ours
        found.failed[reader] += 1
        return
    found.files[reader] += 1
    for thing, times in one.items():
        found.things[reader, thing[0]] += times
    try:
        other = read_by(after)
    except Exception as error:  # noqa: BLE001 - it read the source, so it must read ours
        if _is_theirs(reader, name):
            found.explained[reader, "note"] += 1
            return
        found.lost[reader, "note"] += 1
        found.examples.append(f"{reader}: {name}: cannot read what was written: {error!r}"[:300])
        return
    lines = {line.measure for line in score.changes}
    for fact in sorted((one - other).elements()):
        # These readers count measures, not their printed numbers: a log that has any line about
        # that measure, or one about the whole score, may explain it; the XML above is the judge.
        number = _number(score, fact[2])
        told = number in lines or any("were read as one" in str(c) for c in score.changes)
        if _is_theirs(reader, name):
            found.explained[reader, fact[0]] += 1
            continue
        (found.listed if told else found.lost)[reader, fact[0]] += 1
        if not told:
            found.examples.append(f"{reader}: {name}: {fact}")


def _is_theirs(reader: str, name: str) -> bool:
    return any(reader == who and part in name for who, part in THEIRS)


def _number(score: Score, index: int) -> str:
    measures = score.parts[0].measures
    return measures[index].number if 0 <= index < len(measures) else ""


def _by_diff(name: str, before: bytes, after: bytes, found: Comparison) -> None:
    if len(before) > _DIFF_MOST_BYTES:
        return
    signal.signal(signal.SIGALRM, _too_long)
    signal.alarm(_DIFF_SECONDS)
    try:
        edits = by_musicdiff(before, after)
    except Exception:  # noqa: BLE001 - where it does not run, or not to its end, nothing is said
        found.failed["musicdiff"] += 1
        return
    finally:
        signal.alarm(0)
    found.files["musicdiff"] += 1
    for kind, times in edits.items():
        if _is_theirs("musicdiff", name):
            found.explained["musicdiff", kind] += times
            continue
        found.lost["musicdiff", kind] += times
        found.examples.append(f"musicdiff: {name}: {kind}, {times} times")


def _too_long(_: int, __: object) -> None:
    raise TimeoutError
