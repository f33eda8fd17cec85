"""What a version gives up against its source, each kind of loss from 0 (nothing) to 1 (all)."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

from variants.errors import UsageError
from variants.levels.profile import MeasureProfile, Profile, ProfiledMoment
from variants.music.chord import root_of
from variants.music.key import spelled
from variants.score.timeline import NO_KEY
from variants.tune.kept import longest_common

# Our judgement of what a listener misses most, nothing measured: notes and tune before bass,
# rhythm and length, and those before the level's own strings, key, register, tempo and a capo.
# `--weights` sets others.
WEIGHTS: dict[str, float] = {
    "content": 3.0,
    "melody": 3.0,
    "bass": 2.0,
    "rhythm": 2.0,
    "length": 2.0,
    "ending": 1.0,
    "key": 0.5,
    "register": 0.5,
    "tempo": 0.5,
    "values": 0.25,
    "capo": 0.5,
    "area": 1.0,
}
MEANINGS: dict[str, str] = {
    "content": "notes left out",
    "melody": "the tune: notes missing, or steps between them changed",
    "bass": "roots of chords missing",
    "rhythm": "onsets moved or missing, lengths changed",
    "length": "measures left out",
    "ending": "it ends where the tune comes to no close",
    "key": "another key, further round the circle of fifths",
    "register": "moved up or down, two octaves being all",
    "tempo": "slower than marked",
    "values": "written in other note values",
    "capo": "a capo is needed",
    "area": "where an easier level plays, not where this one does",
}
_TWO_OCTAVES = 24


@dataclass(frozen=True, slots=True)
class KeptNotes:
    """What one measure keeps of the measure that it comes from; see `kept`."""

    notes: int
    melody: int
    roots: int
    rhythm: float


@dataclass(frozen=True, slots=True)
class Totals:
    """What there is in the source, for each kind that is counted."""

    notes: int
    melody: int
    roots: int
    rhythm: int
    measures: int


def parse_weights(text: str) -> dict[str, float]:
    """Return the weights of a text such as ``key=2,melody=1``; the others stay as they are.

    Raises:
        UsageError: There is no such loss, or a weight is no number from 0.

    >>> parse_weights("key=2")["key"], parse_weights("key=2")["bass"]
    (2.0, 2.0)
    """
    weights = dict(WEIGHTS)
    for piece in text.split(",") if text.strip() else []:
        name, _, number = (part.strip() for part in piece.partition("="))
        if name not in WEIGHTS:
            raise UsageError(
                f"there is no loss {name!r}", way_out=f"weigh {', '.join(WEIGHTS)}, as in key=2"
            )
        try:
            weights[name] = float(number)
        except ValueError:
            weights[name] = -1.0
        if not 0 <= weights[name] <= 1000:
            raise UsageError(
                f"the weight of {name} cannot be {number!r}", way_out="give a number from 0 to 1000"
            )
    return weights


def total(losses: Mapping[str, float], weights: Mapping[str, float]) -> float:
    """Return the weighted sum of losses, rounded so that equal plans compare equal."""
    return round(sum(weights[name] * value for name, value in losses.items()), 9)


def totals(own: Sequence[KeptNotes]) -> Totals:
    """Return what there is in a source, which keeps all of itself."""
    return Totals(
        notes=sum(one.notes for one in own),
        melody=sum(one.melody for one in own),
        roots=sum(one.roots for one in own),
        rhythm=round(sum(one.rhythm for one in own)),
        measures=len(own),
    )


def kept(source: Profile, result: Profile, *, is_low: bool = False) -> tuple[KeptNotes, ...]:
    """Return for each measure what a result keeps, where no pitch was moved.

    Args:
        source: The source.
        result: What a chain of steps made of it.
        is_low: The tune is the lowest line of the source, not the highest.
    """
    pairs = zip(source.measures, result.measures, strict=True)
    return tuple(_kept(before, after, -1 if not is_low else 0) for before, after in pairs)


@lru_cache(maxsize=16384)
def _kept(before: MeasureProfile, after: MeasureProfile, line: int) -> KeptNotes:
    notes = sum(len(moment.midi) for moment in after.moments)
    most = sum(len(moment.midi) for moment in before.moments)
    tops = [moment.midi[line] % 12 for moment in before.moments]
    now = [moment.midi[line] % 12 for moment in after.moments]
    classes = {midi % 12 for moment in after.moments for midi in moment.midi}
    chords = [moment for moment in before.moments if len(moment.midi) > 1]
    return KeptNotes(
        notes=min(notes, most),
        melody=len(tops) if tops == now else longest_common(tops, now),
        roots=sum(_root(moment.midi) in classes for moment in chords),
        rhythm=_rhythm(before.moments, after.moments),
    )


@lru_cache(maxsize=4096)
def _root(midi: tuple[int, ...]) -> int:
    root = root_of([spelled(number, NO_KEY) for number in midi])
    return int(root.midi % 12) if root is not None else midi[0] % 12


def _rhythm(before: Sequence[ProfiledMoment], after: Sequence[ProfiledMoment]) -> float:
    """Return the onsets that stand where they stood, half of each whose length is another."""
    lengths = {moment.place: moment.length for moment in after if not moment.grace}
    graces = sum(moment.grace for moment in after)
    found = 0.0
    for moment in before:
        if moment.grace:
            found += 1.0 if graces > 0 else 0.0
            graces -= 1
        elif moment.place in lengths:
            found += 1.0 if lengths[moment.place] == moment.length else 0.5
    return found


def window_losses(keeps: Sequence[KeptNotes], of: Totals) -> dict[str, float]:
    """Return the losses of the measures that stay, before pitches move.

    Args:
        keeps: What each of the measures that stay keeps.
        of: What there is in the source.
    """

    def share(now: float, whole: float) -> float:
        return 1 - now / whole if whole else 0.0

    return {
        "content": share(sum(one.notes for one in keeps), of.notes),
        "melody": share(sum(one.melody for one in keeps), of.melody),
        "bass": share(sum(one.roots for one in keeps), of.roots),
        "rhythm": share(sum(one.rhythm for one in keeps), of.rhythm),
        "length": share(len(keeps), of.measures),
    }


def key_loss(semitones: int) -> float:
    """Return the loss of a move to another key: a half, and more along the circle of fifths.

    >>> key_loss(12), key_loss(7), key_loss(6)
    (0.0, 0.5833333333333334, 1.0)
    """
    steps = 7 * semitones % 12
    return 0.0 if not steps else 0.5 + min(steps, 12 - steps) / 12


def register_loss(semitones: float) -> float:
    """Return the loss of a move by so many semitones on the mean."""
    return min(1.0, semitones / _TWO_OCTAVES)


def folding_losses(before: Profile, after: Profile, semitones: int) -> tuple[float, float]:
    """Return the share of steps of the top line that a folding breaks, and the register loss.

    Args:
        before: The measures before pitches moved.
        after: The same measures after they moved by ``semitones`` and some by octaves more.
        semitones: What all of them moved by.
    """
    moves: list[int] = []
    way = count = 0
    for old, new in zip(before.measures, after.measures, strict=True):
        for was, now in zip(old.moments, new.moments, strict=False):
            moves.append(now.midi[-1] - was.midi[-1] - semitones)
            count += len(was.midi)
            way += sum(abs(b - a) for a, b in zip(was.midi, now.midi, strict=False))
    broken = sum(a != b for a, b in pairwise(moves))
    return broken / max(1, len(moves) - 1), register_loss(way / max(1, count))
