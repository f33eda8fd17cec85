"""Compares a variant with its source: which promises it keeps, and where it differs."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace

from variants.contract import Promise, check
from variants.errors import ContractBroken
from variants.music import Interval, Key, spelled
from variants.music.pitch import Alteration
from variants.score import Note, Part, Score, map_notes, place_text, with_parts
from variants.score.survey import Moments, PartSurvey, Survey, survey

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
        moved: Whether it is kept only when the source is first moved by `Comparison.semitones`.
        place: Where it is first broken, empty if it is kept.
        cause: How, empty if it is kept.
    """

    promise: Promise
    kept: bool
    moved: bool = False
    place: str = ""
    cause: str = ""


@dataclass(frozen=True, slots=True)
class Difference:
    """A moment at which the two do not sound the same notes.

    Args:
        part: Part id.
        place: Measure and beat.
        was: Names of the notes that begin in the source; empty for none.
        now: Names of those that begin in the variant.
    """

    part: str
    place: str
    was: str
    now: str


@dataclass(frozen=True, slots=True)
class Comparison:
    """A variant against its source.

    Args:
        verdicts: One for each promise, in the order of `Promise`.
        semitones: By how much the music was moved as a whole; 0 if it was not.
        differences: Every moment that differs from the source so moved, in order of time.
    """

    verdicts: tuple[Verdict, ...]
    semitones: int
    differences: tuple[Difference, ...]

    @property
    def kept(self) -> tuple[Promise, ...]:
        """The promises that are kept."""
        return tuple(one.promise for one in self.verdicts if one.kept)


def compare(source: Score, variant: Score) -> Comparison:
    """Compare a variant with its source, both at sounding pitch.

    Parts are paired by id; where each has only one part these two are compared.
    """
    if len(source.parts) == len(variant.parts) == 1:
        variant = replace(variant, parts=(replace(variant.parts[0], id=source.parts[0].id),))
    old, new = _survey(source, source), _survey(variant, source)
    semitones = _semitones(old, new)
    moved = _survey(_moved(source, semitones), source) if semitones else old
    verdicts = tuple(_verdict(promise, old, new, moved) for promise in Promise)
    return Comparison(verdicts, semitones, tuple(_differences(moved, new)))


def _survey(score: Score, header: Score) -> Survey:
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


def _moved(score: Score, semitones: int) -> Score:
    interval = Interval.of_semitones(semitones)

    def move(note: Note) -> Note:
        return note if note.pitch is None else replace(note, pitch=note.pitch + interval)

    return with_parts(score, [map_notes(part, move) for part in score.parts])


def _verdict(promise: Promise, old: Survey, new: Survey, moved: Survey) -> Verdict:
    cause = _broken(promise, old, new)
    if cause is None:
        return Verdict(promise, kept=True)
    if moved is old:
        return Verdict(promise, kept=False, place=cause.place, cause=_said(cause))
    again = _broken(promise, moved, new)
    if again is None:
        return Verdict(promise, kept=True, moved=True)
    return Verdict(promise, kept=False, place=again.place, cause=_said(again))


def _broken(promise: Promise, old: Survey, new: Survey) -> ContractBroken | None:
    try:
        check([promise], old, new, step=_STEP)
    except ContractBroken as error:
        return error
    return None


def _said(error: ContractBroken) -> str:
    return error.cause.removeprefix(f"{_STEP} breaks its contract: ")


def _differences(old: Survey, new: Survey) -> Iterator[Difference]:
    before = {one.part.id: one for one in old.parts}
    factor = (old.score.ticks, new.score.ticks)
    for now in new.parts:
        was = before.get(now.part.id)
        if was is not None:
            yield from _in_part(was.scaled(factor[1]), now.scaled(factor[0]), new.score)


def _in_part(was: PartSurvey, now: PartSurvey, score: Score) -> Iterator[Difference]:
    nothing: Moments = {}
    for index in range(max(len(was.moments), len(now.moments))):
        old = was.moments[index] if index < len(was.moments) else nothing
        new = now.moments[index] if index < len(now.moments) else nothing
        for moment in sorted(old.keys() | new.keys()):
            before, after = sorted(old.get(moment, ())), sorted(new.get(moment, ()))
            if before != after:
                place = _place(score, now.part, index, moment[0] // now.scale)
                yield Difference(now.part.id, place, _names(before), _names(after))


def _place(score: Score, part: Part, index: int, tick: int) -> str:
    if index >= len(part.measures):
        return f"measure {index + 1} of the source"
    return place_text(score, part, index, tick)


def _names(heights: list[Alteration]) -> str:
    return " ".join(str(spelled(int(height // 1), Key(0))) for height in heights)
