"""Kinds of chords: the notes that each is made of, and the name of notes that sound together.

The names of kinds are those of MusicXML (``kind-value`` of the W3C MusicXML 4.0 standard), the
notes of each those of common practice.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache

from variants.music.chord import root_of
from variants.music.pitch import Alteration, Interval, Pitch

# (value, alteration, ``add`` / ``alter`` / ``subtract``), as in MusicXML.
Degree = tuple[int, int, str]

_TONES = {
    "major": "P1 M3 P5",
    "minor": "P1 m3 P5",
    "augmented": "P1 M3 A5",
    "diminished": "P1 m3 d5",
    "dominant": "P1 M3 P5 m7",
    "major-seventh": "P1 M3 P5 M7",
    "minor-seventh": "P1 m3 P5 m7",
    "diminished-seventh": "P1 m3 d5 d7",
    "augmented-seventh": "P1 M3 A5 m7",
    "half-diminished": "P1 m3 d5 m7",
    "major-minor": "P1 m3 P5 M7",
    "major-sixth": "P1 M3 P5 M6",
    "minor-sixth": "P1 m3 P5 M6",
    "dominant-ninth": "P1 M3 P5 m7 M9",
    "major-ninth": "P1 M3 P5 M7 M9",
    "minor-ninth": "P1 m3 P5 m7 M9",
    "dominant-11th": "P1 M3 P5 m7 M9 P11",
    "major-11th": "P1 M3 P5 M7 M9 P11",
    "minor-11th": "P1 m3 P5 m7 M9 P11",
    "dominant-13th": "P1 M3 P5 m7 M9 P11 M13",
    "major-13th": "P1 M3 P5 M7 M9 P11 M13",
    "minor-13th": "P1 m3 P5 m7 M9 P11 M13",
    "suspended-second": "P1 M2 P5",
    "suspended-fourth": "P1 P4 P5",
    "power": "P1 P5",
}
# A seventh chord is told by root, third and seventh alone (common practice).
_WITHOUT_FIFTH = ("dominant", "minor-seventh", "major-seventh", "major-minor")
# What is named with a degree beside the kind.
_WITH_DEGREE: tuple[tuple[str, tuple[Degree, ...]], ...] = (
    ("major", ((9, 0, "add"),)),
    ("minor", ((9, 0, "add"),)),
    ("suspended-fourth", ((7, 0, "add"),)),
    ("dominant", ((5, -1, "alter"),)),
)
# Whose notes are those of a chord that is named more simply: Am7 before C6.
_SIXTHS = frozenset({"major-sixth", "minor-sixth"})
_LEAST_NAMED = 2


@dataclass(frozen=True, slots=True)
class ChordName:
    """A chord in the terms of MusicXML.

    Args:
        root: Letter and alteration of the root.
        kind: MusicXML kind: ``major``, ``power``, ``dominant``, ...
        bass: Letter and alteration of the lowest note where it is not the root.
        degrees: Added, altered and left-out degrees.
    """

    root: tuple[str, int]
    kind: str
    bass: tuple[str, int] | None = None
    degrees: tuple[Degree, ...] = ()


@lru_cache(maxsize=512)
def chord_tones(kind: str, degrees: tuple[Degree, ...] = ()) -> tuple[Interval, ...] | None:
    """Return the intervals above the root of the notes of a chord; ``None`` for an unknown kind.

    An added seventh is the minor one, every other added degree that of the major scale, as
    MusicXML says.

    >>> [str(tone) for tone in chord_tones("minor-seventh") or ()]
    ['P1', 'm3', 'P5', 'm7']
    >>> [str(tone) for tone in chord_tones("dominant", ((5, -1, "alter"),)) or ()]
    ['P1', 'M3', 'd5', 'm7']
    """
    known = _TONES.get(kind)
    if known is None:
        return None
    tones = {tone.steps: tone for tone in map(Interval.parse, known.split())}
    for value, alter, what in degrees:
        steps = value - 1
        same = next((one for one in (steps, steps - 7, steps + 7) if one in tones), steps)
        if what == "subtract":
            tones.pop(same, None)
        elif what == "alter" and same in tones:
            tones[same] = Interval(same, tones[same].semitones + alter)
        else:
            tones[steps] = _added(value, alter)
    return tuple(tones[steps] for steps in sorted(tones))


def _added(value: int, alter: int) -> Interval:
    quality = "P" if (value - 1) % 7 in {0, 3, 4} else ("m" if value == 7 else "M")
    plain = Interval.parse(f"{quality}{value}")
    return Interval(plain.steps, plain.semitones + alter)


def tone_classes(root: Pitch, tones: Iterable[Interval]) -> frozenset[Alteration]:
    """Return the pitch classes of a chord on a root."""
    return frozenset((root.pitch_class + tone.semitones) % 12 for tone in tones)


def kinds() -> tuple[str, ...]:
    """Return every kind whose notes are known.

    >>> "power" in kinds()
    True
    """
    return tuple(_TONES)


@lru_cache(maxsize=1)
def _by_classes() -> dict[frozenset[int], tuple[str, tuple[Degree, ...]]]:
    """Return the kind of each set of semitones above a root; the first that claims it has it."""
    found: dict[frozenset[int], tuple[str, tuple[Degree, ...]]] = {}

    def enter(tones: Iterable[Interval], kind: str, degrees: tuple[Degree, ...]) -> None:
        found.setdefault(frozenset(tone.semitones % 12 for tone in tones), (kind, degrees))

    for kind in _TONES:
        enter(chord_tones(kind) or (), kind, ())
    for kind, degrees in _WITH_DEGREE:
        enter(chord_tones(kind, degrees) or (), kind, degrees)
    for kind in _WITHOUT_FIFTH:
        enter([one for one in chord_tones(kind) or () if one.steps != 4], kind, ())
    return found


def chord_name(pitches: Sequence[Pitch]) -> ChordName | None:
    """Return the name of notes that sound together; ``None`` where they have no usual one.

    The root is that of `variants.music.chord.root_of` where a kind fits it, else the lowest
    note that has a kind. Two notes are a chord only as a fifth or a fourth: a power chord.

    >>> str_of = lambda text: chord_name([Pitch.parse(name) for name in text.split()])
    >>> str_of("E3 G3 C4")
    ChordName(root=('C', 0), kind='major', bass=('E', 0), degrees=())
    >>> str_of("D3 G3").kind, str_of("C3 E3")
    ('power', None)
    """
    ordered = sorted(pitches, key=lambda one: one.semitones)
    if any(one.is_microtone for one in ordered):
        return None
    lowest: dict[Alteration, Pitch] = {}
    for one in ordered:
        lowest.setdefault(one.pitch_class, one)
    if len(lowest) < _LEAST_NAMED:
        return None
    told = root_of(ordered)
    roots = sorted(lowest.values(), key=lambda one: one is not told)
    named = [(root, found) for root in roots if (found := _kind(root, lowest)) is not None]
    if not named:
        return None
    bass = ordered[0]

    def oddity(one: tuple[Pitch, tuple[str, tuple[Degree, ...]]]) -> tuple[bool, bool]:
        # A sixth is a name only where no other note makes a seventh chord of the same notes, and
        # a suspended second over another bass is read as the suspended fourth that it is too.
        kind, inverted = one[1][0], one[0].pitch_class != bass.pitch_class
        return kind in _SIXTHS, kind == "suspended-second" and inverted

    root, told_kind = min(named, key=oddity)
    return ChordName(
        (root.letter, int(root.alter)),
        told_kind[0],
        None if bass.pitch_class == root.pitch_class else (bass.letter, int(bass.alter)),
        told_kind[1],
    )


def _kind(root: Pitch, lowest: dict[Alteration, Pitch]) -> tuple[str, tuple[Degree, ...]] | None:
    above = frozenset(int((one - root.pitch_class) % 12) for one in lowest)
    return _by_classes().get(above)
