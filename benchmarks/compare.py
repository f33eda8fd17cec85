"""Looks for anything that reading and writing without a step loses, with eyes other than ours.

    python -m benchmarks.compare              everything
    python -m benchmarks.compare --stride 40  a sample
    python -m benchmarks.compare --only bach  files whose name holds a word

Each file of the corpus is read and written, and the two files are compared four times: element by
element in the XML (`benchmarks.census`), as music21 reads them, as partitura reads them, and, every
tenth file, by musicdiff. What is missing afterwards is *listed* if a line of the change log is
about it at its place, else it is *lost*, and lost things are the failure that is looked for. A full
run writes its table to ``benchmarks/compare.md``. Needs ``pip install -e '.[compare]'``.
"""

from __future__ import annotations

import argparse
import re
import signal
import sys
import time
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from multiprocessing import get_context
from pathlib import Path

from benchmarks.census import Fact, census, lost
from benchmarks.compare_readers import KINDS, Found, by_music21, by_musicdiff, by_partitura
from benchmarks.corpus_files import corpus_files, label
from variants.errors import NeckwiseError
from variants.musicxml import read, to_bytes
from variants.musicxml.source import unpacked
from variants.score import Score

REPORT = Path(__file__).with_name("compare.md")
_DIFF_STRIDE = 10
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


# -- the run ---------------------------------------------------------------------------------


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the comparison, print the table and return the exit code: 1 when something is lost."""
    options = _parser().parse_args(arguments)
    paths = [path for path in corpus_files()[:: options.stride] if options.only in label(path)]
    begun = time.perf_counter()
    total = Comparison()
    jobs = [(path, not options.xml, index % _DIFF_STRIDE == 0) for index, path in enumerate(paths)]
    with get_context("spawn").Pool(options.jobs, maxtasksperchild=40) as pool:
        for done, found in enumerate(pool.imap_unordered(_one, jobs), 1):
            total.add(found)
            for line in found.examples:
                print(line[:250], file=sys.stderr, flush=True)
            if done % 25 == 0:
                print(f"{done}/{len(paths)}", file=sys.stderr, flush=True)
    text = report(total, files=len(paths), seconds=time.perf_counter() - begun)
    print(text)
    for line in sorted(total.examples)[: options.lines]:
        print(line[:300])
    if options.stride == 1 and not options.only and not options.xml:
        REPORT.write_text(text, encoding="utf-8")
    return int(bool(total.lost))


def _one(job: tuple[Path, bool, bool]) -> Comparison:
    path, readers, diff = job
    return compare(path, readers=readers, diff=diff and readers)


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawTextHelpFormatter
    )
    parser.add_argument("--stride", type=int, default=1, help="take every n-th file only")
    parser.add_argument("--only", default="", help="take files whose name holds this")
    parser.add_argument("--xml", action="store_true", help="compare the XML alone (quick)")
    parser.add_argument("--jobs", type=int, default=1, help="processes (1)")
    parser.add_argument("--lines", type=int, default=60, help="lost things to print (60)")
    return parser


def report(total: Comparison, *, files: int, seconds: float) -> str:
    """Return the table of a run as Markdown."""
    lines = [
        "# What reading and writing loses",
        "",
        "Made by `python -m benchmarks.compare`: each file of the corpus, read and written without",
        "a step, compared with itself. *Listed*: missing afterwards, and a line of the change log",
        "says so at its place. *Lost*: missing without a word.",
        "",
        f"{files} files, {len(total.refused)} refused, in {seconds:.0f} seconds.",
        "",
        "| reader | files compared | files it cannot read itself |",
        "|---|--:|--:|",
    ]
    readers = ("XML", "music21", "partitura", "musicdiff")
    lines += [f"| {one} | {total.files[one]} | {total.failed[one]} |" for one in readers]
    long = total.failed["too long for the other readers"]
    lines += ["", f"{long} files over 2 MB are compared by their XML alone, and by musicdiff every"]
    lines += ["tenth file under 100 kB: the others take it minutes or hours."]
    lines += ["", "| reader | thing | in the sources | listed | theirs | lost |"]
    lines += ["|---|---|--:|--:|--:|--:|"]
    for key in sorted(total.things | total.lost, key=_in_order):
        if key[0] != "XML" or total.lost[key] or total.listed[key]:
            counters = (total.things, total.listed, total.explained, total.lost)
            cells = [counter[key] for counter in counters]
            lines.append(f"| {key[0]} | {key[1]} | " + " | ".join(map(str, cells)) + " |")
    whole = sum(times for (reader, _), times in total.things.items() if reader == "XML")
    lines += ["", f"Things in the XML of the sources: {whole}; kinds without a loss are not shown."]
    lines += ["", "*Theirs*: what the other reader finds otherwise because of itself:", ""]
    lines += [f"- {who}, {part}: {why}" for (who, part), why in THEIRS.items()]
    lines += ["", "## Refused", ""] + [f"- {line}" for line in sorted(total.refused)]
    lost_lines = sorted(total.examples)
    lines += ["", "## Lost", "", *(f"- {line[:200]}" for line in lost_lines[:40])]
    return "\n".join(lines) + "\n"


def _in_order(key: tuple[str, str]) -> tuple[int, int, str]:
    readers = ("XML", "music21", "partitura", "musicdiff")
    kind = KINDS.index(key[1]) if key[1] in KINDS else len(KINDS)
    return readers.index(key[0]), kind, key[1]


if __name__ == "__main__":
    sys.exit(main())
