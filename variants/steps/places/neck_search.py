"""Where notes can be played on the neck within wishes: every way, then the best path.

The hand stands at a position: the fret of its first finger, the other fingers on the next three.
One fret more on either side is a stretch. What sounds together must be a grip that a hand of
medium size can hold (`variants.guitar.grip`), held notes included; the fingers themselves are left
to the fingering stage. The path is a shortest path (Viterbi) over the moments of a part.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import pairwise

from variants.score import Instrument, Place, Take

# A hand covers four frets, one for each finger, and fingers 1 and 4 stretch by one (common
# practice).
COVERED = 4
# Costs in frets of travel, set by hand. A stretch is dearer than a short move of the hand. An open
# string is at home in the first positions; above them it is worse than one stretch where a
# position is asked for, since that is asked for to be practised. Where they are sought they are
# worth any travel, but no slide that leaves its string. A chord with a lower note on a
# higher string is hard to read and to voice.
_STRETCH = 4.0
_LEAVE = 1.0
_OPEN = {"avoid": 1000.0, "prefer": -3.0, "seek": -40.0}
_OPEN_AT_HOME, _OPEN_ON_THE_WAY, _OPEN_IN_POSITION = -0.5, 2.0, 4.5
_LOW_POSITION = 2
_CROSSED = 6.0
# A slide that leaves its string is none: taken only where there is no other way.
_BROKEN = 100.0
_HIGH = 0.02


@dataclass(frozen=True, slots=True)
class TakeSpot:
    """A note on the neck.

    Args:
        midi: MIDI number that sounds.
        place: String and fret as tab counts them.
        fret: Fret at which the hand is, 0 for an open string; it differs from tab's where a
            string starts higher up (the fifth of a banjo).
    """

    midi: int
    place: Place
    fret: int


Shape = tuple[TakeSpot, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class NeckWishes:
    """Where on the neck to play.

    Args:
        position: Fret of the first finger; ``None`` lets the hand move.
        strings: The only strings to use; empty for all.
        open_strings: ``allow``, ``avoid`` (used only where there is no other way), ``prefer``, or
            ``seek`` (used wherever it is possible).
        stretch: Whether fingers may reach a fret beyond the position on either side.
    """

    position: int | None = None
    strings: tuple[int, ...] = ()
    open_strings: str = "allow"
    stretch: bool = True

    def allow(self, shape: Shape) -> bool:
        """Whether a shape is within position and strings."""
        return all(self._allows(spot) for spot in shape)

    def _allows(self, spot: TakeSpot) -> bool:
        if self.strings and spot.place.string not in self.strings:
            return False
        if self.position is None or spot.fret == 0:
            return True
        reach = 1 if self.stretch else 0
        return self.position - reach <= spot.fret < self.position + COVERED + reach


@dataclass(frozen=True, slots=True)
class NeckMoment:
    """What begins at one time, and what is still held from before.

    Args:
        takes: The notes that begin.
        struck: Their MIDI numbers, each once: voices that meet on a pitch share its place.
        held: MIDI numbers that sound on from before.
        lasting: MIDI numbers that sound on into the next moment.
        instrument: What they are played on.
        joined: Pairs of MIDI numbers, one struck at the moment before and one now: a slide,
            hammer-on or pull-off leads from one to the other, on one string.
        leading: MIDI numbers from which such a technique leads into the next moment.
    """

    takes: tuple[Take, ...]
    struck: tuple[int, ...]
    held: tuple[int, ...]
    lasting: tuple[int, ...]
    instrument: Instrument
    joined: tuple[tuple[int, int], ...] = ()
    leading: tuple[int, ...] = ()

    @property
    def sounding(self) -> tuple[int, ...]:
        """All MIDI numbers that sound now."""
        return tuple(sorted((*self.struck, *self.held)))


def moments_of(takes: Sequence[Take], instrument: Callable[[int], Instrument]) -> list[NeckMoment]:
    """Return the moments of a part in order of time."""
    grouped: list[list[Take]] = []
    for take in takes:
        if grouped and grouped[-1][0].moment == take.moment:
            grouped[-1].append(take)
        else:
            grouped.append([take])
    found: list[NeckMoment] = []
    ends: dict[int, int] = {}
    for place, group in enumerate(grouped):
        start = group[0].start
        struck = tuple(sorted({take.pitch.midi for take in group}))
        ends = {midi: end for midi, end in ends.items() if end > start}
        held = tuple(midi for midi in ends if midi not in struck)
        for take in group:
            ends[take.pitch.midi] = max(take.end, ends.get(take.pitch.midi, 0))
        after = grouped[place + 1][0].start if place + 1 < len(grouped) else None
        lasting = tuple(midi for midi, end in ends.items() if after is not None and end > after)
        joined = _joined(grouped[place - 1], group) if place else ()
        found.append(NeckMoment(tuple(group), struck, held, lasting, instrument(start), joined))
    for place in range(1, len(found)):
        if found[place].joined:
            leading = tuple(first for first, _ in found[place].joined)
            found[place - 1] = replace(found[place - 1], leading=leading)
    return found


def _joined(before: list[Take], now: list[Take]) -> tuple[tuple[int, int], ...]:
    """Return which note of a moment a technique joins to which of the moment before."""
    pairs: list[tuple[int, int]] = []
    for take in now:
        same = [one.pitch.midi for one in before if one.voice == take.voice]
        if take.is_joined and same:
            midi = take.pitch.midi
            pairs.append((min(same, key=lambda one: (abs(one - midi), one)), midi))
    return tuple(pairs)


@lru_cache(maxsize=4096)
def shapes(midis: tuple[int, ...], instrument: Instrument) -> tuple[Shape, ...]:
    """Return every way to hold notes together, in a fixed order; none if no hand can.

    Args:
        midis: MIDI numbers, ascending, each once.
        instrument: The instrument.
    """
    starts = instrument.first_frets or (0,) * instrument.strings
    if len(midis) == 1:
        return tuple(
            (TakeSpot(midis[0], place, place.fret + starts[place.string - 1] if place.fret else 0),)
            for place in instrument.places(midis[0])
        )
    if len(midis) > instrument.strings:
        return ()
    from variants.guitar.grip import Reach, grips
    from variants.guitar.hand import Hand

    table = grips(
        midis,
        Reach(
            open_midi=instrument.open_midi,
            top_frets=tuple(
                max(0, instrument.frets - max(instrument.capo, start)) for start in starts
            ),
            offsets=starts,
            scale_mm=instrument.scale_length_mm,
            hand=Hand.of("medium"),
            strings=tuple(range(1, instrument.strings + 1)),
        ),
    )
    rows = zip(table.strings.tolist(), table.frets.tolist(), strict=True)
    ways = sorted({(tuple(strings), tuple(frets)) for strings, frets in rows})
    return tuple(
        tuple(
            TakeSpot(midi, Place(string, fret - starts[string - 1] if fret else 0), fret)
            for midi, string, fret in zip(midis, strings, frets, strict=True)
        )
        for strings, frets in ways
    )


# --- the path -------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _State:
    """The best way so far to stand somewhere with some notes held.

    Args:
        cost: In frets of travel.
        hand: Position of the hand; 0 while only open strings were played.
        shape: What sounds now.
        before: The state before.
    """

    cost: float
    hand: int
    shape: Shape
    before: _State | None


@dataclass(frozen=True, slots=True)
class Stuck:
    """The moment at which no way goes on.

    Args:
        index: Which moment.
        alone: Whether the notes that begin there cannot be played even with nothing held.
    """

    index: int
    alone: bool


def best_path(moments: Sequence[NeckMoment], wishes: NeckWishes) -> list[Shape] | Stuck:
    """Return the shape at each moment of the best way to play a part, or where it gets stuck."""
    states = [_State(0.0, wishes.position or 0, (), None)]
    for index, moment in enumerate(moments):
        options = [
            shape for shape in shapes(moment.sounding, moment.instrument) if wishes.allow(shape)
        ]
        states = _advance(states, moment, options, wishes)
        if not states:
            own = shapes(moment.struck, moment.instrument)
            return Stuck(index, alone=not any(wishes.allow(shape) for shape in own))
    best: _State | None = min(states, key=lambda state: state.cost)
    found: list[Shape] = []
    while best is not None and best.before is not None:
        found.append(best.shape)
        best = best.before
    return found[::-1]


def _advance(
    states: list[_State], moment: NeckMoment, options: list[Shape], wishes: NeckWishes
) -> list[_State]:
    found: dict[tuple[int, Shape], _State] = {}
    by_held: dict[Shape, list[_State]] = {}
    for state in states:
        held = tuple(spot for spot in state.shape if spot.midi in moment.held)
        by_held.setdefault(held, []).append(state)
    for shape in options:
        held = tuple(spot for spot in shape if spot.midi in moment.held)
        for hand, strain in _hands(shape, wishes):
            for state in by_held.get(held, ()):
                now = hand or state.hand
                cost = state.cost + strain + _travel(state.hand, now)
                if moment.joined:
                    cost += _BROKEN * _broken(moment.joined, state.shape, shape)
                lasting = tuple(
                    spot
                    for spot in shape
                    if spot.midi in moment.lasting or spot.midi in moment.leading
                )
                key = (now, lasting)
                if key not in found or cost < found[key].cost:
                    found[key] = _State(cost, now, shape, state)
    return [found[key] for key in found]


def _broken(joined: tuple[tuple[int, int], ...], before: Shape, now: Shape) -> int:
    """Return how many slides and the like would have to leave their string."""
    was = {spot.midi: spot.place.string for spot in before}
    strings = {spot.midi: spot.place.string for spot in now}
    return sum(was.get(first) != strings[then] for first, then in joined)


def _travel(before: int, now: int) -> float:
    return _LEAVE + abs(now - before) if before and now != before else 0.0


@lru_cache(maxsize=16384)
def _hands(shape: Shape, wishes: NeckWishes) -> tuple[tuple[int, float], ...]:
    """Return the positions from which a hand plays a shape, with what that costs it.

    Position 0 stands for wherever the hand is: a shape of open strings does not move it.
    """
    stopped = [spot.fret for spot in shape if spot.fret]
    cost = _HIGH * sum(stopped) + _CROSSED * sum(
        lower.place.string < higher.place.string for lower, higher in pairwise(shape)
    )
    opens = len(shape) - len(stopped)
    if not stopped:
        return ((0, cost + _open_cost(wishes, wishes.position or 1) * opens),)
    if wishes.position is not None:
        hands = [wishes.position]
    else:
        hands = list(range(max(1, max(stopped) - COVERED), min(stopped) + 2))
    return tuple(
        (
            hand,
            cost
            + _STRETCH * sum(not hand <= fret < hand + COVERED for fret in stopped)
            + _open_cost(wishes, hand) * opens,
        )
        for hand in hands
        if all(hand - 1 <= fret <= hand + COVERED for fret in stopped)
    )


def _open_cost(wishes: NeckWishes, hand: int) -> float:
    if wishes.open_strings in _OPEN:
        return _OPEN[wishes.open_strings]
    if hand <= _LOW_POSITION:
        return _OPEN_AT_HOME
    return _OPEN_ON_THE_WAY if wishes.position is None else _OPEN_IN_POSITION
