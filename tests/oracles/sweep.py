"""What is tried on each file of the corpus, and how the answers are sorted."""

from __future__ import annotations

import re
import time
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import cache
from pathlib import Path

from tests.oracles.corpus_files import label
from tests.oracles.independent import (
    HeardPart,
    difference,
    heard_by_music21,
    heard_in_score,
    height,
    transposed,
)
from tests.xsd import validate
from variants.errors import ContractBroken, InputError, NeckwiseError, Refusal
from variants.music import Interval, Pitch
from variants.musicxml import read, read_bytes, to_bytes
from variants.pipeline import run
from variants.score import STANDARD_GUITAR, Part, Score, events
from variants.steps import list_steps, parse_step
from variants.steps.transpose import Transpose

_UP = ("m2", "M2", "m3", "M3", "P4", "A4", "d5", "P5")
# Every named interval from a fifth down to a fifth up, and the augmented and diminished ones that
# occur between the notes of a minor key.
INTERVALS = ("P1", *_UP, "A1", "A2", "d4", *(f"-{n}" for n in (*_UP, "A1", "A2", "d4")))
PIPELINES = (
    ("reduce-chords:to=root", "single-string"),
    ("reduce-chords:to=top", "single-string:string=5"),
    ("invert-dyads",),
    ("shift-position:position=5",),
    ("simplify-rhythm:grid=quarter,keep=strong",),
    ("simplify-rhythm:grid=eighth",),
)
_FEATURES = "musicxml/lilypondTestSuite/"
# Files that break the standard, or on which music21 does: there is nothing to compare with.
NOT_COMPARED = {
    "musicxml/testTab.xml": "no durations, no pitches: ours come from note values and frets",
    f"{_FEATURES}02e-Rests-NoType.xml": "a note without a staff is put on both staves by music21",
    f"{_FEATURES}21f-Chord-ElementInBetween.xml": "music21 splits a chord at a direction",
    f"{_FEATURES}41h-TooManyParts.xml": "music21 drops parts that the part list does not name",
    f"{_FEATURES}32c-MultipleNotationChildren.xml": "a sharp is drawn that the pitch lacks",
}
# No printed accidental alters by more than two semitones; beyond that ours are respelled.
_MOST_ALTER = 2
DONE, REFUSED, BROKEN, CRASHED, WRONG = "done", "refused", "contract broken", "crash", "wrong"


@dataclass(slots=True)
class Findings:
    """What came of one file, or of several together.

    Args:
        verdicts: How often each check ended in each way, by (check, verdict).
        refusals: How often each check was refused for each cause.
        problems: What must not be, one line each.
        seconds: Time that it took.
    """

    verdicts: Counter[tuple[str, str]] = field(default_factory=Counter)
    refusals: Counter[tuple[str, str]] = field(default_factory=Counter)
    problems: list[str] = field(default_factory=list)
    seconds: float = 0.0

    def add(self, other: Findings) -> None:
        """Take over what was found elsewhere."""
        self.verdicts.update(other.verdicts)
        self.refusals.update(other.refusals)
        self.problems += other.problems
        self.seconds += other.seconds

    def good(self, check: str) -> None:
        """Note a check that went well."""
        self.verdicts[check, DONE] += 1

    def bad(self, check: str, verdict: str, text: str) -> None:
        """Note what must not be."""
        self.verdicts[check, verdict] += 1
        self.problems.append(f"{verdict}: {check}: {text}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """What to do with each file.

    Args:
        independent: Let music21 read the source and what was written.
        transpose: Transpose by every interval.
        steps: Run the other steps.
    """

    independent: bool = True
    transpose: bool = True
    steps: bool = True


Check = Callable[[Path, Score, Findings], None]


def examine(path: Path, plan: Plan) -> Findings:
    """Do everything with one file; whatever is raised is a finding."""
    found = Findings()
    begun = time.perf_counter()
    name = label(path)
    try:
        score = read(path)
    except InputError as error:
        found.verdicts["read", REFUSED] += 1
        found.refusals["read", str(error)] += 1
        _check_line(error, "read", found, needs_place=True)
    except Exception as error:  # noqa: BLE001 - a crash is what is looked for
        found.bad("read", CRASHED, f"{name}: {error!r}")
    else:
        found.good("read")
        for check in _checks(plan):
            try:
                check(path, score, found)
            except Exception as error:  # noqa: BLE001 - as above
                found.bad(getattr(check, "__name__", "").strip("_"), CRASHED, f"{name}: {error!r}")
    found.seconds = time.perf_counter() - begun
    return found


def _checks(plan: Plan) -> Iterator[Check]:
    yield _write
    if plan.independent:
        yield _round_trip
    if plan.transpose:
        yield _transpose
    if plan.steps:
        yield _steps


# -- reading and writing ---------------------------------------------------------------------------


def _write(path: Path, score: Score, found: Findings) -> None:
    for staves in ("source", "both"):
        data = to_bytes(score, staves=staves)
        check = f"write, staves={staves}"
        faults = validate(data)
        if faults:
            found.bad(check, WRONG, f"{label(path)}: not valid: {faults[0]}")
        elif data != to_bytes(score, staves=staves):
            found.bad(check, WRONG, f"{label(path)}: two runs give different bytes")
        else:
            found.good(check)


def _round_trip(path: Path, score: Score, found: Findings) -> None:
    check = "written and read by music21"
    if label(path) in NOT_COMPARED:
        return
    before, after = heard_by_music21(path), heard_by_music21(to_bytes(score))
    if len(before) != len(after):
        found.bad(check, WRONG, f"{label(path)}: {len(before)} parts became {len(after)}")
        return
    for one, other in zip(before, after, strict=True):
        # The octave that reading assumes (and says so) moves a whole part.
        shifts = [0, -1, 1] if any("octave" in str(line) for line in score.changes) else [0]
        differences = [difference(one, other, octaves=shift) for shift in shifts]
        if all(differences):
            found.bad(check, WRONG, f"{label(path)}, part {one.id}: {differences[0]}")
        else:
            found.good(check)
    _heard_alike(path, score, found)


def _heard_alike(path: Path, score: Score, found: Findings) -> None:
    """Compare the sounding names of each moment as music21 and as we read them."""
    check = "sounding names as music21 reads them"
    theirs, ours = heard_by_music21(path, sounding=True), heard_in_score(score)
    if len(theirs) != len(ours):
        # A tab part that doubles a notation part is one part to us.
        theirs = theirs[: len(ours)]
    for one, other in zip(theirs, ours, strict=True):
        if any(_names(one) == _names(other, shift) for shift in (0, 1, -1)):
            found.good(check)
        else:
            found.bad(check, WRONG, f"{label(path)}, part {one.id}")


def _names(part: HeardPart, octaves: int = 0) -> list[set[tuple[Fraction, str, Fraction, int]]]:
    return [
        {(offset, step, alter, octave + octaves * bool(step))
         for offset, _, step, alter, octave, _, _ in row}
        for row in part.measures
    ]  # fmt: skip


# -- transposition ---------------------------------------------------------------------------------


def _transpose(path: Path, score: Score, found: Findings) -> None:
    for name in INTERVALS:
        check = f"transpose:interval={name}"
        try:
            outcome = run(score, [Transpose(interval=Interval.parse(name))])
        except NeckwiseError as error:
            _note_refusal(check, error, label(path), found)
            continue
        interval = outcome.interval
        if interval is None or (interval.semitones - Interval.parse(name).semitones):
            found.bad(check, WRONG, f"{label(path)}: moved by {interval}")
            continue
        faults = _misnamed(score, outcome.score, interval)
        if faults:
            found.bad(check, WRONG, f"{label(path)}: {faults}")
        else:
            found.good(check)


def _misnamed(before: Score, after: Score, interval: Interval) -> str:
    """Return the first note that is not what music21 says; empty if there is none."""
    for one, other in zip(before.parts, after.parts, strict=True):
        for (index, old), (_, new) in zip(events(one), events(other), strict=True):
            if old.onset != new.onset or len(old.notes) != len(new.notes):
                return f"part {one.id}, measure {index + 1}: the events differ"
            for was, now in zip(old.notes, new.notes, strict=True):
                if was.pitch is None or now.pitch is None:
                    if was.pitch is not now.pitch:
                        return f"part {one.id}, measure {index + 1}: an unpitched note moved"
                elif not _is_moved(was.pitch, now.pitch, interval):
                    place = f"part {one.id}, measure {index + 1}"
                    return f"{place}: {was.pitch} became {now.pitch}"
    return ""


@cache
def _is_moved(was: Pitch, now: Pitch, interval: Interval) -> bool:
    """Whether a pitch is what music21 makes of another; by height where no name can be printed."""
    if was.is_microtone:  # music21 has no names for all of them
        return now.semitones == was.semitones + interval.semitones
    wanted = transposed((was.letter, Fraction(was.alter), was.octave), interval)
    if abs(wanted[1]) > _MOST_ALTER:
        return now.semitones == height(wanted) and -_MOST_ALTER <= now.alter <= _MOST_ALTER
    return wanted == (now.letter, now.alter, now.octave)


# -- the other steps -------------------------------------------------------------------------------


def _steps(path: Path, score: Score, found: Findings) -> None:
    known = {info.name for info in list_steps()}
    for part in score.parts:
        alone = replace(score, parts=(_for_guitar(part),))
        for texts in PIPELINES:
            if all(text.partition(":")[0] in known for text in texts):
                _one_pipeline(f"{label(path)}, part {part.id}", alone, texts, found)


def _for_guitar(part: Part) -> Part:
    return part if part.instrument else replace(part, instrument=STANDARD_GUITAR)


def _one_pipeline(where: str, score: Score, texts: Iterable[str], found: Findings) -> None:
    check = " -> ".join(texts)
    try:
        outcome = run(score, [parse_step(text) for text in texts])
        data = to_bytes(outcome.score, staves="both")
        faults = validate(data)
        if faults:
            found.bad(check, WRONG, f"{where}: not valid: {faults[0]}")
            return
        again = read_bytes(data, reading="concert")
        now, then = heard_in_score(outcome.score)[0], heard_in_score(again)[0]
        fault = difference(now, then)
        if fault:
            found.bad(check, WRONG, f"{where}: read again: {fault}")
            return
    except NeckwiseError as error:
        _note_refusal(check, error, where, found)
    except Exception as error:  # noqa: BLE001 - a crash is what is looked for
        found.bad(check, CRASHED, f"{where}: {error!r}")
    else:
        found.good(check)


def _note_refusal(check: str, error: NeckwiseError, where: str, found: Findings) -> None:
    if isinstance(error, ContractBroken):
        found.bad(check, BROKEN, f"{where}: {error}")
    elif isinstance(error, Refusal):
        found.verdicts[check, REFUSED] += 1
        found.refusals[check, _kind(error.cause)] += 1
        # What the instrument lacks holds for no place in the music.
        of_all = error.cause.startswith("the instrument has")
        _check_line(error, check, found, needs_place=not of_all)
    else:
        found.bad(check, WRONG, f"{where}: {type(error).__name__}: {error}")


def _check_line(error: NeckwiseError, check: str, found: Findings, *, needs_place: bool) -> None:
    text = str(error)
    if "\n" in text or not error.way_out or not error.cause or (needs_place and not error.place):
        found.bad(check, WRONG, f"a refusal without place, cause or way out: {text!r}")


def _kind(cause: str) -> str:
    """Return a cause without its notes and numbers, so that like causes are counted together."""
    plain = re.sub(r"\b[A-G][#b]*-?\d\b", "NOTE", cause)
    return re.sub(r"\b\d+([./]\d+)*\b", "N", plain)
