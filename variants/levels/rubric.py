"""A published rubric for the ease of playing chords, computed from a fingered part.

M. A. Vélez Vásquez and others, "Quantifying the Ease of Playing Song Chords on the Guitar", ISMIR
2023: seven criteria of 0 (very easy) to 3 points (very difficult), weighted 3, 3, 2, 2, 2, 1, 0.
The paper scores by ear and eye; the shares and numbers at which our points change are ours.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

from variants.guitar.hand import Hand
from variants.levels.written import Written, WrittenNote, WrittenStroke
from variants.music.chordkinds import chord_name

WEIGHTS = {
    "uncommon chords": 3,
    "finger position": 3,
    "fingering": 2,
    "repetition": 2,
    "right hand": 2,
    "change time": 1,
    "syncopation": 0,
}
MOST_POINTS = 3
# A chord has three notes and more; two are a dyad.
_LEAST_NOTES = 3
# What first songs are made of (common practice).
_COMMON = frozenset({"major", "minor", "dominant", "power", "minor-seventh", "major-seventh"})
# Frets above the barre, the lowest string first, of the E and A shapes: major, minor, seventh,
# minor seventh (common practice).
_BARRE_SHAPES = frozenset(
    {
        *((0, 2, 2, 1, 0, 0), (0, 2, 2, 0, 0, 0), (0, 2, 0, 1, 0, 0), (0, 2, 0, 0, 0, 0)),
        *((0, 2, 2, 2, 0), (0, 2, 2, 1, 0), (0, 2, 0, 2, 0), (0, 2, 0, 1, 0)),
    }
)


@dataclass(frozen=True, slots=True)
class Criterion:
    """One criterion: its points from 0 to 3, and why."""

    name: str
    points: int
    reason: str


def rubric(written: Written, hand: Hand) -> tuple[Criterion, ...]:
    """Return the points of each criterion; nothing for a part without chords."""
    chords = [one for one in written.strokes if len(one.notes) >= _LEAST_NOTES and not one.grace]
    if not chords:
        return ()
    return (
        _uncommon(chords),
        _finger_position(written, chords, hand),
        _fingering(chords),
        _repetition(chords),
        _right_hand(chords),
        _change_time(chords),
        _syncopation(written, chords),
    )


def weighted(criteria: Sequence[Criterion]) -> float:
    """Return the weighted points as a share of the most there can be, 0 to 1."""
    most = MOST_POINTS * sum(WEIGHTS.values())
    return sum(WEIGHTS[one.name] * one.points for one in criteria) / most


def _points(value: float, steps: tuple[float, float, float]) -> int:
    return sum(value > step for step in steps)


def _uncommon(chords: Sequence[WrittenStroke]) -> Criterion:
    rare = sum(
        not _is_common(tuple(sorted({int(n.pitch.midi) for n in one.notes}))) for one in chords
    )
    share = rare / len(chords)
    return Criterion("uncommon chords", _points(share, (0.0, 0.2, 0.5)), f"{share:.0%} uncommon")


@lru_cache(maxsize=4096)
def _is_common(midi: tuple[int, ...]) -> bool:
    from variants.music import Key
    from variants.music.key import spelled

    named = chord_name([spelled(number, Key(0)) for number in midi])
    return named is not None and named.kind in _COMMON


def _finger_position(written: Written, chords: Sequence[WrittenStroke], hand: Hand) -> Criterion:
    widest = max(stretch_share(written, one.notes, hand) for one in chords)
    points = _points(widest, (0.5, 0.7, 0.85))
    return Criterion("finger position", points, f"{widest:.0%} of the hand's reach")


def stretch_share(written: Written, notes: Sequence[WrittenNote], hand: Hand) -> float:
    """Return the widest stretch of notes held together as a share of what the hand can do."""
    stopped = sorted({(n.finger, n.fret) for n in notes if 1 <= n.finger <= 4 and n.fret})
    pairs = ((a, b) for a in stopped for b in stopped if a[0] < b[0])
    return max(
        (written.between_mm(a[1], b[1]) / hand.limit_mm(a[0], b[0]) for a, b in pairs), default=0.0
    )


def _fingering(chords: Sequence[WrittenStroke]) -> Criterion:
    hard = sum(_kind(one.notes) == 2 for one in chords) / len(chords)
    middle = sum(_kind(one.notes) >= 1 for one in chords) / len(chords)
    points = 3 if hard > 0.5 else 2 if hard > 0 else 1 if middle > 0.5 else 0
    return Criterion(
        "fingering", points, f"{hard:.0%} with four fingers or a barre that is no A or E shape"
    )


def _kind(notes: Sequence[WrittenNote]) -> int:
    """Return 2 for four fingers or a barre, 1 for three or the barre of an A or E shape, else 0."""
    fingers = {n.finger for n in notes if 1 <= n.finger <= 4 and n.fret}
    if is_barred(notes):
        return 1 if _is_a_or_e_shape(notes) else 2
    return 2 if len(fingers) >= 4 else 1 if len(fingers) == 3 else 0


def is_barred(notes: Sequence[WrittenNote]) -> bool:
    """Whether one finger holds several strings."""
    held = [(n.finger, n.fret) for n in notes if 1 <= n.finger <= 4 and n.fret]
    return len(held) > len(set(held))


def _is_a_or_e_shape(notes: Sequence[WrittenNote]) -> bool:
    ordered = sorted(notes, key=lambda n: -n.string)
    lowest = min(n.fret for n in ordered)
    return tuple(n.fret - lowest for n in ordered) in _BARRE_SHAPES


def _repetition(chords: Sequence[WrittenStroke]) -> Criterion:
    rows: dict[int, list[tuple[object, ...]]] = {}
    for one in chords:
        rows.setdefault(one.measure, []).append(tuple(n.pitch for n in one.notes))
    progressions = [tuple(row) for row in rows.values()]
    repeated = 1 - len(set(progressions)) / len(progressions)
    points = 3 - _points(repeated, (0.0, 0.25, 0.6))
    return Criterion("repetition", points, f"{repeated:.0%} of the measures are repeated ones")


def _right_hand(chords: Sequence[WrittenStroke]) -> Criterion:
    worst, inner = 0, 0
    for one in chords:
        strings = {n.string for n in one.notes if n.string}
        if not strings:
            continue
        gaps = max(strings) - min(strings) + 1 - len(strings)
        inner = max(inner, gaps)
        worst = max(worst, 1 if len(strings) < 6 else 0, min(3, 1 + gaps) if gaps else 0)
    return Criterion("right hand", worst, f"at most {inner} inner strings left out")


def _change_time(chords: Sequence[WrittenStroke]) -> Criterion:
    shortest = shortest_change(chords)
    points = 0 if shortest is None else 3 - _points(shortest, (0.499, 0.999, 1.999))
    text = "no change of chord" if shortest is None else f"{shortest:.2f} s for the quickest change"
    return Criterion("change time", points, text)


def shortest_change(chords: Sequence[WrittenStroke]) -> float | None:
    """Return the seconds of the quickest change to another chord; ``None`` without one."""
    shortest: float | None = None
    for before, after in pairwise(chords):
        if [n.pitch for n in before.notes] == [n.pitch for n in after.notes]:
            continue
        gap = float(after.seconds - before.seconds)
        shortest = gap if shortest is None else min(shortest, gap)
    return shortest


def _syncopation(written: Written, chords: Sequence[WrittenStroke]) -> Criterion:
    share = sum(written.off_beat(one) == 3 for one in chords) / len(chords)
    return Criterion("syncopation", _points(share, (0.0, 0.1, 0.3)), f"{share:.0%} syncopated")
