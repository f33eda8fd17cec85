"""Compares a variant with its source: which promises it keeps, and where it differs.

Both come from one reader, which would agree with itself about what it misread. `misread` holds
its reading against the page as the proofreader scans it, note by note.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction

from variants.contract import Promise, check
from variants.errors import ContractBroken
from variants.music import Interval, Key, spelled
from variants.music.pitch import Alteration
from variants.musicxml import LIMITS, FileLimits
from variants.musicxml.reader import partwise
from variants.musicxml.source import parse
from variants.proof.page import PageBar
from variants.proof.scan import scan
from variants.score import Note, Part, Score, map_notes, place_text, with_parts
from variants.score.survey import PartSurvey, Sounds, Survey, survey

OCTAVE = 12
# So many of the common moments must fit a shift for it to count.
CLEAR = 0.8
_STEP = "it"


@dataclass(frozen=True, slots=True)
class Verdict:
    """One promise.

    Args:
        promise: The promise.
        kept: Whether the variant keeps it.
        moved: Whether it is kept only when the source is first moved by
            `SourceComparison.semitones`.
        place: Where it is first broken, empty if it is kept.
        cause: How, empty if it is kept.
    """

    promise: Promise
    kept: bool
    moved: bool = False
    place: str = ""
    cause: str = ""


@dataclass(frozen=True, slots=True)
class MomentDifference:
    """A moment at which the two do not sound the same notes, or not for as long.

    Args:
        part: Part id.
        place: Measure and beat.
        was: Names of the notes that begin in the source; empty for none. Where the names are the
            same, with how long each sounds.
        now: Names of those that begin in the variant.
    """

    part: str
    place: str
    was: str
    now: str


@dataclass(frozen=True, slots=True)
class SourceComparison:
    """A variant against its source.

    Args:
        verdicts: One for each promise, in the order of `Promise`.
        semitones: By how much the music was moved as a whole; 0 if it was not.
        differences: Every moment that differs from the source so moved, in order of time.
        misread: Where the reading of either is not what its file says; see `misread`.
    """

    verdicts: tuple[Verdict, ...]
    semitones: int
    differences: tuple[MomentDifference, ...]
    misread: tuple[str, ...] = ()

    @property
    def kept(self) -> tuple[Promise, ...]:
        """The promises that are kept."""
        return tuple(one.promise for one in self.verdicts if one.kept)


def compare(source: Score, variant: Score) -> SourceComparison:
    """Compare a variant with its source, both at sounding pitch.

    Parts are paired by id; where each has only one part these two are compared.
    """
    if len(source.parts) == len(variant.parts) == 1:
        variant = replace(variant, parts=(replace(variant.parts[0], id=source.parts[0].id),))
    old, new = _survey_of_music(source, source), _survey_of_music(variant, source)
    semitones = _semitones(old, new)
    moved = _survey_of_music(_all_moved(source, semitones), source) if semitones else old
    verdicts: list[Verdict] = []
    for promise in Promise:
        # How long a note lasts can be told exactly only where its pitch is kept.
        known = [one.promise for one in verdicts if one.kept and promise is Promise.DURATIONS]
        verdicts.append(_verdict((promise, *known), old, new, moved))
    return SourceComparison(tuple(verdicts), semitones, tuple(_differing_moments(moved, new)))


def _survey_of_music(score: Score, header: Score) -> Survey:
    """Survey the music alone: other titles and faults that a proofreader tells apart are not."""
    same = replace(
        score,
        work_title=header.work_title,
        movement_title=header.movement_title,
        creators=header.creators,
        rights=header.rights,
        source=header.source,
    )
    found = survey(same)
    parts = tuple(
        replace(one, loose_ties=(), misplaced=(), shared_strings=(), overfull=())
        for one in found.parts
    )
    return Survey(same, parts)


def _semitones(old: Survey, new: Survey) -> int:
    """Return by how much the variant was moved: what most of its moments have in common.

    A shift counts when it brings four in five of the moments that both have into the source's
    pitch classes; of several the smallest, and among octaves the one of the highest notes.
    """
    pairs = _common_moments(old, new)
    best, most = 0, 0
    for semitones in sorted(range(-5, 7), key=abs):
        fitting = sum(
            {(height + semitones) % OCTAVE for height in was} >= {height % OCTAVE for height in now}
            for was, now in pairs
        )
        if fitting > most:
            best, most = semitones, fitting
    if not pairs or most < CLEAR * len(pairs):
        return 0
    tops = Counter(max(now) - max(was) for was, now in pairs)
    octaves = Counter({by: n for by, n in tops.items() if (by - best) % OCTAVE == 0})
    return int(octaves.most_common(1)[0][0]) if octaves else best


def _common_moments(old: Survey, new: Survey) -> list[tuple[list[Alteration], list[Alteration]]]:
    before = {one.part.id: one for one in old.parts}
    found = []
    for part in new.parts:
        source = before.get(part.part.id)
        if source is None:
            continue
        was, now = source.scaled(new.score.ticks), part.scaled(old.score.ticks)
        for one, other in zip(was.moments, now.moments, strict=False):
            found += [(one[moment], other[moment]) for moment in one.keys() & other.keys()]
    return found


def _all_moved(score: Score, semitones: int) -> Score:
    interval = Interval.of_semitones(semitones)

    def move(note: Note) -> Note:
        return note if note.pitch is None else replace(note, pitch=note.pitch + interval)

    return with_parts(score, [map_notes(part, move) for part in score.parts])


def _verdict(promises: tuple[Promise, ...], old: Survey, new: Survey, moved: Survey) -> Verdict:
    """Return whether the first of some promises is kept where the others are."""
    promise = promises[0]
    cause = _first_violation(promises, old, new)
    if cause is not None and moved is not old:
        cause = _first_violation(promises, moved, new)
        if cause is None:
            return Verdict(promise, kept=True, moved=True)
    if cause is None:
        return Verdict(promise, kept=True)
    return Verdict(promise, kept=False, place=cause.place, cause=_cause_alone(cause))


def _first_violation(
    promises: tuple[Promise, ...], old: Survey, new: Survey
) -> ContractBroken | None:
    try:
        check(promises, old, new, step=_STEP)
    except ContractBroken as error:
        return error
    return None


def _cause_alone(error: ContractBroken) -> str:
    return error.cause.removeprefix(f"{_STEP} breaks its contract: ")


def _differing_moments(old: Survey, new: Survey) -> Iterator[MomentDifference]:
    before = {one.part.id: one for one in old.parts}
    factor = (old.score.ticks, new.score.ticks)
    for now in new.parts:
        was = before.get(now.part.id)
        if was is not None:
            yield from _differing_in_part(was.scaled(factor[1]), now.scaled(factor[0]), new.score)


def _differing_in_part(
    was: PartSurvey, now: PartSurvey, score: Score
) -> Iterator[MomentDifference]:
    nothing: Sounds = {}
    quarter = score.ticks * now.scale
    for index in range(max(len(was.sounds), len(now.sounds))):
        old = was.sounds[index] if index < len(was.sounds) else nothing
        new = now.sounds[index] if index < len(now.sounds) else nothing
        for moment in sorted(old.keys() | new.keys()):
            before = sorted((high, long) for high, long, _ in old.get(moment, ()))
            after = sorted((high, long) for high, long, _ in new.get(moment, ()))
            if before != after:
                same = [high for high, _ in before] == [high for high, _ in after]
                place = _measure_and_beat(score, now.part, index, moment[0] // now.scale)
                yield MomentDifference(
                    now.part.id, place, *(_note_names(notes, quarter if same else 0)
                                          for notes in (before, after)),
                )  # fmt: skip


def _measure_and_beat(score: Score, part: Part, index: int, tick: int) -> str:
    if index >= len(part.measures):
        return f"measure {index + 1} of the source"
    return place_text(score, part, index, tick)


def _note_names(notes: list[tuple[Alteration, int]], quarter: int) -> str:
    """Return notes by name; with their lengths where ``quarter`` says how long one is."""
    names = [(str(spelled(int(high // 1), Key(0))), long) for high, long in notes]
    if not quarter:
        return " ".join(name for name, _ in names)
    return ", ".join(f"{name} for {_in_quarters(Fraction(long, quarter))}" for name, long in names)


def _in_quarters(length: Fraction) -> str:
    return f"{length} quarter{'' if length == 1 else 's'}"


# What is written or read at one moment: pitch classes, each with how long it lasts in quarters.
_Notes = set[tuple[Alteration, Fraction]]


def misread(data: bytes, score: Score, limits: FileLimits = LIMITS) -> tuple[str, ...]:
    """Return where a score is not what its file says: place, what is written, what was read.

    The file is scanned by the proofreader, which shares nothing with the reader of scores but
    the XML. Octaves are left alone: how a clef sounds is a choice of reading.

    Args:
        data: The file, MusicXML.
        score: What was read from it.
        limits: Bounds on what it may cost.
    """
    page = scan(partwise(parse(data, limits)))
    parts = {part.id: part for part in score.parts}
    found = []
    for part in page.parts:
        now = parts.get(part.id)
        for index, bar in enumerate(part.bars if now is not None else ()):
            if now is None or index >= len(now.measures):
                break
            written, read = _written_notes(bar), _read_notes(now, index, score.ticks)
            for onset in sorted(read.keys() | written.keys()):
                was, is_now = written.get(onset, set()), read.get(onset, set())
                # A tab and its notation may write one note in two lengths, and one is read.
                gone = {high for high, _ in was} - {high for high, _ in is_now}
                if gone or is_now - was:
                    place = _measure_and_beat(score, now, index, int(onset * score.ticks))
                    found.append(
                        f"{place}: {_told_notes(was)} is written, {_told_notes(is_now)} was read"
                    )
    return tuple(found)


def _written_notes(bar: PageBar) -> dict[Fraction, _Notes]:
    found: dict[Fraction, _Notes] = {}
    ticks = bar.part.ticks
    for head in bar.heads:
        if head.sounding is not None and not (head.is_cue or head.is_grace):
            note = (head.sounding % OCTAVE, Fraction(head.duration, ticks))
            found.setdefault(Fraction(head.onset, ticks), set()).add(note)
    return found


def _read_notes(part: Part, index: int, ticks: int) -> dict[Fraction, _Notes]:
    found: dict[Fraction, _Notes] = {}
    for event in part.measures[index].events:
        for note in event.notes if event.grace is None and not event.is_cue else ():
            if note.pitch is not None:
                here = found.setdefault(Fraction(event.onset, ticks), set())
                here.add((note.pitch.semitones % OCTAVE, Fraction(event.duration, ticks)))
    return found


def _told_notes(notes: _Notes) -> str:
    names = [f"{spelled(int(high // 1) + 60, Key(0))}"[:-1] + f" for {_in_quarters(long)}"
             for high, long in sorted(notes)]  # fmt: skip
    return " and ".join(names) or "nothing"
