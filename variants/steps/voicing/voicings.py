"""Voicings: the notes of a chord in another order, near where they were, as a grip.

A voicing is written from the bottom up. In close position it spans no more than an octave; in open
position one of its voices stands an octave further up (common practice).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from variants.music import Pitch
from variants.score import Instrument, Place
from variants.steps.places.neck_search import Shape, shapes

_OCTAVE = 12
# Each octave of an open position counts as one of distance: a close one is taken where there is
# one that can be held.
_OPEN = 12
# A semitone of the note to keep weighs as much as so many of the other outer one, and a string that
# must be silenced between two as so many (our own).
_KEPT, _GAP = 12, 12
# So many frets up the neck, added over the notes, weigh as much as a semitone away (our own).
_FRETS = 2


@dataclass(frozen=True, slots=True)
class Chord:
    """What a chord is made of: its pitches by what they are above the root.

    Args:
        root: The root, at some octave.
        names: One pitch of each pitch class, by semitones above the root.
        size: How many notes there are.
    """

    root: Pitch
    names: dict[int, Pitch]
    size: int

    @property
    def third(self) -> Pitch | None:
        """The third, major before minor."""
        return self._first(4, 3)

    @property
    def fifth(self) -> Pitch | None:
        """The fifth, perfect before altered."""
        return self._first(7, 6, 8)

    @property
    def seventh(self) -> Pitch | None:
        """The seventh, minor before major."""
        return self._first(10, 11)

    @property
    def is_power(self) -> bool:
        """Whether it is a root and its fifth and no other note."""
        return set(self.names) == {0, 7}

    @property
    def is_triad(self) -> bool:
        """Whether it has a root, a third and a fifth, and perhaps more."""
        return self.third is not None and self.fifth is not None

    def _first(self, *semitones: int) -> Pitch | None:
        return next((self.names[one] for one in semitones if one in self.names), None)


def chord_of(pitches: Sequence[Pitch], root: Pitch) -> Chord:
    """Return what notes are made of; the root is one of them."""
    names: dict[int, Pitch] = {}
    for one in sorted(pitches, key=lambda pitch: pitch.semitones):
        names.setdefault(int((one.pitch_class - root.pitch_class) % _OCTAVE), one)
    return Chord(names[0], names, len(pitches))


@dataclass(frozen=True, slots=True)
class Voiced:
    """A voicing that a hand can hold.

    Args:
        pitches: From the bottom up.
        places: Where it is held, in the same order.
    """

    pitches: tuple[Pitch, ...]
    places: tuple[Place, ...]


def nearest(
    orders: Iterable[tuple[Pitch, ...]],
    old: Sequence[Pitch],
    instrument: Instrument,
    *,
    strings: tuple[int, ...] = (),
    others: tuple[int, ...] = (),
    keep: str = "top",
) -> Voiced | None:
    """Return the voicing nearest to a chord that can be held; ``None`` if no hand can.

    Near is what moves the note to keep little, then the other outer one, and lies low on the neck,
    on strings side by side where it can.

    Args:
        orders: Names from the bottom up, one of which is wanted; their octaves do not matter.
        old: The chord as it was, from the bottom up.
        instrument: What it is played on.
        strings: The only strings to use; empty for all.
        others: MIDI numbers that other voices sound meanwhile: the hand holds them too, and the
            chord does not meet them.
        keep: ``top`` or ``bass``: the note that stays if it can.
    """
    wanted = list(orders)
    if any(_same_names(order, old) for order in wanted):
        shape = _best(tuple(old), instrument, strings)
        if shape is not None:
            return Voiced(tuple(old), tuple(spot.place for spot in shape))
    low, high = old[0].midi, old[-1].midi
    end = -1 if keep == "top" else 0
    can_stay = any(order[end].pitch_class == old[end].pitch_class for order in wanted)
    weight = _KEPT if can_stay and not strings else 1

    def distance(pitches: tuple[Pitch, ...]) -> tuple[int, int, tuple[int, ...]]:
        below, above = abs(pitches[0].midi - low), abs(pitches[-1].midi - high)
        wide = (pitches[-1].midi - pitches[0].midi - 1) // _OCTAVE
        kept, other = (above, below) if keep == "top" else (below, above)
        cost = weight * kept + other + _OPEN * wide
        return cost, kept, tuple(one.midi for one in pitches)

    best: tuple[int, Voiced] | None = None
    for pitches in sorted(set(_all(wanted, instrument)), key=distance):
        cost = distance(pitches)[0]
        if best is not None and cost >= best[0]:
            break
        shape = _best(pitches, instrument, strings, others)
        if shape is not None:
            cost += sum(spot.fret for spot in shape) // _FRETS + _GAP * _gaps(shape)
            if best is None or cost < best[0]:
                best = cost, Voiced(pitches, tuple(spot.place for spot in shape))
    return best[1] if best is not None else None


def _same_names(order: Sequence[Pitch], old: Sequence[Pitch]) -> bool:
    return [one.pitch_class for one in order] == [one.pitch_class for one in old]


def _all(
    orders: Iterable[tuple[Pitch, ...]], instrument: Instrument
) -> Iterator[tuple[Pitch, ...]]:
    """Yield each voicing within the range of an instrument, with one wide step at most."""
    for order in orders:
        for bass in _octaves(order[0], instrument):
            for wide in range(len(order)):
                pitches = [bass]
                for place, name in enumerate(order[1:], 1):
                    up = 1 if place == wide else 0
                    pitches.append(_above(name, pitches[-1]).moved_octaves(up))
                if pitches[-1].midi <= instrument.highest:
                    yield tuple(pitches)


def _octaves(name: Pitch, instrument: Instrument) -> Iterator[Pitch]:
    first = name.moved_octaves((instrument.lowest - name.midi) // _OCTAVE)
    while first.midi <= instrument.highest:
        if first.midi >= instrument.lowest:
            yield first
        first = first.moved_octaves(1)


def _above(name: Pitch, below: Pitch) -> Pitch:
    """Return the nearest pitch of a name above another."""
    return name.moved_octaves((below.midi - name.midi) // _OCTAVE + 1)


def _gaps(shape: Shape) -> int:
    """Return how many strings lie silent between those that sound."""
    strings = [spot.place.string for spot in shape]
    return max(strings) - min(strings) + 1 - len(strings) if strings else 0


def _best(
    pitches: tuple[Pitch, ...],
    instrument: Instrument,
    strings: tuple[int, ...],
    others: tuple[int, ...] = (),
) -> Shape | None:
    """Return the easiest way to hold notes: none crossed, then low on the neck and together."""
    midis = [one.midi for one in pitches]
    if not set(others).isdisjoint(midis):
        return None
    ways = [
        tuple(spot for spot in shape if spot.midi in midis)
        for shape in shapes(tuple(sorted((*midis, *others))), instrument)
    ]
    allowed = [
        shape
        for shape in ways
        if not strings or all(spot.place.string in strings for spot in shape)
    ]

    def effort(shape: Shape) -> tuple[int, int, int]:
        crossed = sum(a.place.string < b.place.string for a, b in pairwise(shape))
        return crossed, _gaps(shape), sum(spot.fret for spot in shape)

    return min(allowed, key=effort, default=None)
