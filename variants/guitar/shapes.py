"""Chord grips as data: open positions, power chords, and forms that move along the neck.

A grip is written as its frets and its fingers from string 6 to string 1: ``x32010/032010``, ``x``
for a string that is left out. C, D, G, B7 and F are fingered as in published chord data
(``tombatossals/chords-db``), the four-string F and the barre form of Bm as in the 1906 edition of
Carcassi's op. 59 (MutopiaProject), the power chords on two to three strings as in the encyclopedic
tables of liquisearch.com. The others are common practice; where the chord data have the same frets
with other fingers, ours keep the laws of the hand, or avoid a barre. Every one is checked for its
notes and for the hand in ``tests/reference/test_chord_grips.py``.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

from variants.guitar.tuning import STANDARD
from variants.music.chordkinds import Degree
from variants.music.pitch import Pitch
from variants.score import Instrument

# How many strings one finger may hold: none but its own, two at the edge of a grip, or all.
BARRES = {"never": 1, "small": 2, "full": 6}
_HIGHEST_FRET = 12
_ADD9: tuple[Degree, ...] = ((9, 0, "add"),)
_ADD7: tuple[Degree, ...] = ((7, 0, "add"),)

# Root (and bass), kind, grip. Where a chord has several, the first that may be used is taken.
_OPEN = """
C        major              x32010/032010
A        major              x02220/001230
G        major              320003/210003
E        major              022100/023100
D        major              xx0232/000132
F        major              xx321x/003210
F        major              xx3211/003211
A        minor              x02210/002310
E        minor              022000/023000
D        minor              xx0231/000231
C        dominant           x32310/032410
A        dominant           x02020/002030
G        dominant           320001/320001
E        dominant           020100/020100
D        dominant           xx0212/000213
B        dominant           x21202/021304
C        major-seventh      x32000/032000
A        major-seventh      x02120/002130
G        major-seventh      320002/310002
E        major-seventh      021100/031200
D        major-seventh      xx0222/000123
F        major-seventh      xx3210/003210
A        minor-seventh      x02010/002010
E        minor-seventh      020000/020000
D        minor-seventh      xx0211/000312
B        minor-seventh      x20202/010203
A        suspended-second   x02200/001200
D        suspended-second   xx0230/000130
A        suspended-fourth   x02230/001230
D        suspended-fourth   xx0233/000134
E        suspended-fourth   022200/012300
G        suspended-fourth   330013/230014
C        suspended-fourth   x33011/034011
G        major-sixth        320000/210000
D        major-sixth        xx0202/000203
A        major-sixth        x02222/001234
E        major-sixth        022120/023140
E        minor-sixth        022020/012030
E        augmented          032110/043120
C        augmented          x32110/043120
D        diminished         xx0131/000132
B        diminished-seventh x20101/030102
E        power              022xxx/012xxx
A        power              x022xx/001200
D        power              xx023x/000130
C        add9               x32030/021030
A        7sus4              x02030/002030
D        7sus4              xx0213/000213
E        7sus4              020200/010200
G/B      major              x20003/020003
C/E      major              032010/032010
C/G      major              332010/342010
D/F#     major              2x0232/100243
D/A      major              x00232/000132
A/E      major              002220/001230
G/D      major              xx0003/000003
Am/G     minor              302210/402310
Am/E     minor              002210/002310
Em/B     minor              x22000/012000
F/C      major              x33211/034211
F/A      major              x0321x/003210
E/G#     major              422100/423100
Em/G     minor              322000/312000
Em/D     minor              xx0000/000000
Dm/A     minor              x00231/000231
D/C      major              x30232/030142
G/F#     major              2x0003/100003
C/B      major              x22010/023010
Am/F#    minor              2x2210/203410
A/G      major              302220/401230
A/C#     major              x42220/041230
G/B      dominant           x20001/020001
D/F#     dominant           2x0212/200314
"""
# The same with the root written as string 6, 5 or 4 at fret 1.
_MOVABLE = """
6 power           133xxx/134000
5 power           x133xx/013400
4 power           xx134x/001340
5 diminished      x1232x/012430
5 half-diminished x1212x/013240
4 diminished-seventh xx1212/001324
6 major           133211/134211
6 minor           133111/134111
6 dominant        131211/131211
6 minor-seventh   131111/131111
6 suspended-fourth 133311/123411
5 major           x13331/012341
5 minor           x13321/013421
5 dominant        x13131/013141
5 minor-seventh   x13121/013121
5 major-seventh   x13231/013241
5 suspended-second x13311/013411
"""


@dataclass(frozen=True, slots=True)
class ChordGrip:
    """A chord as the hand holds it.

    Args:
        stops: (string, fret, finger) of each string that sounds, the lowest string first; frets
            count from the capo, fret 0 and finger 0 are an open string.
    """

    stops: tuple[tuple[int, int, int], ...]

    @classmethod
    def parse(cls, text: str) -> ChordGrip:
        """Read frets and fingers from string 6 to string 1.

        >>> ChordGrip.parse("xx0232/000132").stops
        ((4, 0, 0), (3, 2, 1), (2, 3, 3), (1, 2, 2))
        """
        frets, fingers = text.replace("x", "-").split("/")
        strings = range(len(frets), 0, -1)
        return cls(
            tuple(
                (string, int(fret), int(finger.replace("-", "0")))
                for string, fret, finger in zip(strings, frets, fingers, strict=True)
                if fret != "-"
            )
        )

    @property
    def barre(self) -> int:
        """How many strings the widest barre spans; 1 for none."""
        held: dict[int, list[int]] = {}
        for string, _, finger in self.stops:
            if finger:
                held.setdefault(finger, []).append(string)
        return max((max(one) - min(one) + 1 for one in held.values()), default=1)

    def moved(self, frets: int) -> ChordGrip:
        """Return the grip further up the neck; it must have no open string."""
        return ChordGrip(
            tuple((string, fret + frets, finger) for string, fret, finger in self.stops)
        )


@dataclass(frozen=True, slots=True)
class Shape:
    """A grip that is known by name.

    Args:
        root: Pitch class of the root as it sounds without a capo.
        kind: MusicXML kind.
        degrees: Added degrees.
        bass: Pitch class of a lowest note that is not the root; ``None`` otherwise.
        grip: How it is held.
        is_movable: Whether it may stand at any fret.
    """

    root: int
    kind: str
    degrees: tuple[Degree, ...]
    bass: int | None
    grip: ChordGrip
    is_movable: bool = False


@lru_cache(maxsize=1)
def shapes() -> tuple[Shape, ...]:
    """Return every shape in the order in which they are preferred."""
    found: list[Shape] = []
    for line in _OPEN.strip().splitlines():
        name, kind, text = line.split()
        root, _, bass = name.replace("m", "").partition("/")
        plain, degrees = {
            "add9": ("major", _ADD9),
            "7sus4": ("suspended-fourth", _ADD7),
        }.get(kind, (kind, ()))
        low = _class(bass) if bass else None
        found.append(Shape(_class(root), plain, degrees, low, ChordGrip.parse(text)))
    for line in _MOVABLE.strip().splitlines():
        string, kind, text = line.split()
        root_class = (STANDARD.open_midi[int(string) - 1] + 1) % 12
        found.append(Shape(root_class, kind, (), None, ChordGrip.parse(text), is_movable=True))
    return tuple(found)


def _class(name: str) -> int:
    return int(Pitch.parse(f"{name}4").pitch_class)


def raised_by(instrument: Instrument) -> int | None:
    """Return by how many semitones all strings sound above the standard tuning, capo included.

    ``None`` where the strings are not those of the standard tuning among themselves: there the
    grips that are known sound other chords.
    """
    pairs = zip(instrument.open_midi, STANDARD.open_midi, strict=False)
    found = {here - there for here, there in pairs}
    same = instrument.strings == len(STANDARD.open_midi)
    return found.pop() if same and len(found) == 1 and not instrument.first_frets else None


@dataclass(frozen=True, slots=True)
class WantedChord:
    """A chord to find a grip for: pitch classes of root and bass as they sound, kind, degrees."""

    root: int
    kind: str
    degrees: tuple[Degree, ...] = ()
    bass: int | None = None


def find_grip(
    chord: WantedChord, instrument: Instrument, *, barre: str = "never"
) -> ChordGrip | None:
    """Return the grip of a chord that is usual; ``None`` if none is known.

    One with an open string comes first, in the order of the table; else the one nearest the nut,
    there with the widest barre that is allowed. A slash chord without a grip of its own gets
    none here: ask for it without its bass.

    Args:
        chord: The chord as it sounds.
        instrument: Its strings must be a standard tuning, all raised or lowered alike.
        barre: ``never``, ``small`` (two strings under one finger) or ``full``.
    """
    raised = raised_by(instrument)
    if raised is None:
        return None
    allowed = [
        grip
        for grip in _candidates(chord, raised, instrument.top_fret)
        if grip.barre <= BARRES[barre]
    ]
    return min(allowed, key=_rank, default=None)


def _rank(grip: ChordGrip) -> tuple[int, int]:
    lowest = min(fret for _, fret, _ in grip.stops)
    return lowest, 0 if lowest == 0 else -grip.barre


def _candidates(chord: WantedChord, raised: int, top_fret: int) -> Iterator[ChordGrip]:
    """Yield every grip of a chord in the order of the table."""
    root = (chord.root - raised) % 12
    bass = None if chord.bass is None else (chord.bass - raised) % 12
    for shape in shapes():
        if (shape.kind, shape.degrees, shape.bass) != (chord.kind, chord.degrees, bass):
            continue
        if not shape.is_movable:
            if shape.root == root:
                yield shape.grip
            continue
        grip = shape.grip.moved((root - shape.root) % 12)
        if max(fret for _, fret, _ in grip.stops) <= min(top_fret, _HIGHEST_FRET):
            yield grip
