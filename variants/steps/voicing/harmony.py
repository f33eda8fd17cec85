"""Where the harmony of a part changes, and what its chords are called.

The best path through the chords that fit what sounds, slice by slice of time: a chord earns what
sounds of its notes and pays for what does not belong to it, and a change of chord pays too, least
on the first beat of a measure (after the searches for harmony of Temperley, *The Cognition of Basic
Musical Structures*, 2001, and Pardo and Birmingham, *Algorithms for chordal analysis*, Computer
Music Journal 26, 2002; quoted from memory).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

from variants.music import Pitch
from variants.music.chordkinds import ChordName, chord_name, chord_tones
from variants.music.pitch import Alteration
from variants.score import Part, Take, measures

# Tones of the chords that are searched for: triads, each with the seventh that costs nothing.
_TRIADS = {"major": ((0, 4, 7), 10), "minor": ((0, 3, 7), 10), "diminished": ((0, 3, 6), 9)}
_SEVENTHS = {
    ("major", 10): "dominant",
    ("major", 11): "major-seventh",
    ("minor", 10): "minor-seventh",
    ("diminished", 10): "half-diminished",
    ("diminished", 9): "diminished-seventh",
}
# In beats of sound, set by hand on the block chords and chorales of `benchmarks.harmony`: what a
# foreign note costs, what a root in the bass earns, and what a change costs where.
_FOREIGN, _SEVENTH, _ROOT_IN_BASS, _RARE = 1.0, 0.1, 0.35, 0.15
_CHANGES = {
    "harmony": {"measure": 0.3, "half": 0.45, "beat": 0.6, "between": 1.0},
    "measure": {"measure": 0.0},
    "beat": {"measure": 0.0, "half": 0.0, "beat": 0.0},
}
# A note alone says less of the harmony than several at once.
_ALONE = 0.5
# The lowest note counts twice beside the others: it is heard as the bass.
_BASS = 2.0
# A seventh belongs to the chord where it sounds for a quarter of its time (our own).
_LASTING = 0.25
# Of a single line so much must belong to a chord of three notes before it is one (our own).
_BROKEN, _LEAST_OF_BROKEN = 0.7, 3
_MOST_PLAIN = 4
# What music21 calls otherwise than MusicXML does.
_MUSIC21_KINDS = {
    "dominant-seventh": "dominant",
    "half-diminished-seventh": "half-diminished",
    "minor-major-seventh": "major-minor",
}


@dataclass(frozen=True, slots=True)
class Stretch:
    """A stretch of time with one chord: where it begins, and what sounds in it.

    Args:
        measure: Index of the measure in which it begins.
        tick: Ticks from the start of that measure.
        slices: What sounds together, in order of time, low notes first in each.
        beats: How many beats each of these lasts.
        root: Pitch class of the root that was found; ``None`` where nobody looked.
        quality: The triad on it.
    """

    measure: int
    tick: int
    slices: tuple[tuple[Pitch, ...], ...]
    beats: tuple[float, ...]
    root: Alteration | None = None
    quality: str = ""

    @property
    def pitches(self) -> tuple[Pitch, ...]:
        """All that sounds in it."""
        return tuple(pitch for one in self.slices for pitch in one)


@dataclass(frozen=True, slots=True)
class _Slice:
    measure: int
    tick: int
    kind: str
    sounding: tuple[Pitch, ...]
    beats: float


def stretches(part: Part, takes: Sequence[Take], ticks: int, *, per: str) -> Iterator[Stretch]:
    """Yield the chords of a part in order of time, each measure for itself.

    Args:
        part: The part.
        takes: Its notes, in order of time.
        ticks: Ticks in a quarter.
        per: ``harmony``, ``measure`` or ``beat``: where a chord may change.
    """
    slices = _slices(part, takes, ticks)
    states = _path(slices, _CHANGES[per])
    begun: list[tuple[_Slice, tuple[int, str]]] = []
    for one, state in zip(slices, states, strict=True):
        if begun and (one.kind == "measure" or state != begun[-1][1]):
            yield _stretch(begun)
            begun = []
        begun.append((one, state))
    if begun:
        yield _stretch(begun)


def _stretch(begun: Sequence[tuple[_Slice, tuple[int, str]]]) -> Stretch:
    first, (root, quality) = begun[0]
    heard = [one for one, _ in begun if one.sounding]
    return Stretch(
        first.measure,
        first.tick,
        tuple(one.sounding for one in heard),
        tuple(one.beats for one in heard),
        root,
        quality,
    )


def _slices(part: Part, takes: Sequence[Take], ticks: int) -> list[_Slice]:
    """Return the time of a part, cut at each beat and wherever a note begins or ends."""
    cuts: dict[int, tuple[int, int, str, float]] = {}
    for view in measures(part, ticks):
        beats = [int(beat) for beat in view.beats if beat == int(beat)]
        length = view.measure.length
        size = (beats[1] - beats[0]) if len(beats) > 1 else max(1, length)
        middle = beats[len(beats) // 2] if len(beats) % 2 == 0 and len(beats) > 2 else -1
        kinds = {tick: "half" if tick == middle else "beat" for tick in beats if 0 < tick < length}
        edges = {t - view.start for take in takes for t in (take.start, take.end)}
        for tick in {0, *kinds, *(edge for edge in edges if 0 < edge < length)}:
            kind = "measure" if not tick else kinds.get(tick, "between")
            cuts[view.start + tick] = view.index, tick, kind, float(size)
    times = sorted(cuts)
    ends = [*times[1:], max(take.end for take in takes)]
    found: list[_Slice] = []
    waiting = sorted(takes, key=lambda take: take.start)
    for start, end in zip(times, ends, strict=True):
        index, tick, kind, beat = cuts[start]
        waiting = [take for take in waiting if take.end > start]
        now = [take.pitch for take in waiting if take.start <= start]
        lowest_first = tuple(sorted(now, key=lambda pitch: pitch.semitones))
        found.append(_Slice(index, tick, kind, lowest_first, max(0, end - start) / beat))
    return found


def _path(slices: Sequence[_Slice], costs: dict[str, float]) -> list[tuple[int, str]]:
    """Return the chord of each slice: pitch class of the root, and the triad (Viterbi)."""
    states = [(root, quality) for root in range(12) for quality in _TRIADS]
    total = dict.fromkeys(states, 0.0)
    came: list[dict[tuple[int, str], tuple[int, str]]] = []
    for one in slices:
        best = max(states, key=lambda state: total[state])
        cost = costs.get(one.kind)
        moved = total[best] - cost if cost is not None else float("-inf")
        came.append({state: best if moved > total[state] else state for state in states})
        total = {
            state: max(total[state], moved) + one.beats * _fit(_profile(one.sounding), state)
            for state in states
        }
    state = max(states, key=lambda one: total[one])
    found = []
    for before in reversed(came):
        found.append(state)
        state = before[state]
    return found[::-1]


_Profile = tuple[tuple[tuple[int, float], ...], int]


def _profile(sounding: Sequence[Pitch]) -> _Profile:
    """Return the share of each pitch class, and the lowest one; -1 for silence."""
    if not sounding:
        return (), -1
    shares: dict[int, float] = {}
    weights = [_BASS, *(1.0,) * (len(sounding) - 1)] if len(sounding) > 1 else [1.0]
    for pitch, weight in zip(sounding, weights, strict=True):
        shares[pitch.midi % 12] = shares.get(pitch.midi % 12, 0.0) + weight
    whole = sum(weights)
    low = sounding[0].midi % 12 if len(sounding) > 1 else -1
    return tuple(sorted((one, share / whole) for one, share in shares.items())), low


@lru_cache(maxsize=65536)
def _fit(profile: _Profile, state: tuple[int, str]) -> float:
    """Return what a chord earns in a beat of some sound."""
    shares, low = profile
    root, quality = state
    tones, seventh = _TRIADS[quality]
    fit = 0.0
    for one, share in shares:
        above = (one - root) % 12
        earned = -_SEVENTH if above in {seventh, 10} else -_FOREIGN
        fit += share * (1.0 if above in tones else earned)
    if low == root:
        fit += _ROOT_IN_BASS
    if low < 0:
        fit *= _ALONE
    return fit - _RARE * (quality == "diminished" and bool(shares))


# --- names ----------------------------------------------------------------------------------------


def names_of(one: Stretch) -> ChordName | None:
    """Return the name of a stretch's chord; ``None`` where a melody alone sounds, or no chord."""
    lasting: dict[Alteration, float] = {}
    for sounding, beats in zip(one.slices, one.beats, strict=True):
        for heard in {pitch.pitch_class for pitch in sounding}:
            lasting[heard] = lasting.get(heard, 0.0) + beats
    if one.root is None or len(lasting) < 2:
        return None
    whole = chord_name(one.pitches)
    if whole is not None and _is_plain(whole):
        return whole if len(lasting) >= _LEAST_OF_BROKEN or not _is_line(one) else None
    if not _is_chord(one, lasting):
        return None
    above = {int((heard - one.root) % 12): beats for heard, beats in lasting.items()}
    kind = one.quality
    if not any(third in above for third in (3, 4)):
        kind = "power"
    enough = _LASTING * sum(one.beats)
    for seventh in (10, 9, 11):
        if above.get(seventh, 0.0) >= enough and (kind, seventh) in _SEVENTHS:
            kind = _SEVENTHS[kind, seventh]
            break
    root = min(
        (pitch for pitch in one.pitches if pitch.pitch_class == one.root),
        key=lambda pitch: pitch.semitones,
    )
    bass = _bass(one, root, kind)
    return ChordName((root.letter, int(root.alter)), kind, bass)


def _is_line(one: Stretch) -> bool:
    return all(len(sounding) < 2 for sounding in one.slices)


def _is_chord(one: Stretch, lasting: Mapping[Alteration, float]) -> bool:
    """Whether what sounds is the chord that was found: its root, and third or fifth with it."""
    if one.root is None or one.root not in lasting:
        return False
    tones = _TRIADS[one.quality][0]
    own = {int((heard - one.root) % 12): beats for heard, beats in lasting.items()}
    heard = [tone for tone in tones if tone in own]
    if _is_line(one):
        share = sum(own[tone] for tone in heard) / sum(own.values())
        return len(heard) >= _LEAST_OF_BROKEN and share >= _BROKEN
    together = [
        sounding for sounding in one.slices if len({pitch.pitch_class for pitch in sounding}) > 1
    ]
    return len(heard) > 1 and bool(together)


def _bass(one: Stretch, root: Pitch, kind: str) -> tuple[str, int] | None:
    """Return the lowest note where the chord stands on another than its root throughout."""
    lows = [sounding[0] for sounding in one.slices if len(sounding) > 1] or [
        min(one.pitches, key=lambda pitch: pitch.semitones)
    ]
    if any(low.pitch_class == root.pitch_class for low in lows):
        return None
    tones = {tone.semitones % 12 for tone in chord_tones(kind) or ()}
    low = lows[0]
    is_tone = (low.pitch_class - root.pitch_class) % 12 in tones
    return (low.letter, int(low.alter)) if is_tone else None


def _is_plain(name: ChordName) -> bool:
    """Whether a broken chord is rightly called so: an added note is rather one that passes."""
    return len(chord_tones(name.kind, name.degrees) or ()) <= _MOST_PLAIN and not name.degrees


def told(pitches: Sequence[Pitch]) -> ChordName | None:
    """Return what all the notes together are called; music21 is asked for the rare ones."""
    name = chord_name(pitches)
    if name is None and len({pitch.pitch_class for pitch in pitches}) > _LEAST_OF_BROKEN:
        return _asked(tuple(sorted(set(map(str, pitches)))))
    return name


@lru_cache(maxsize=4096)
def _asked(names: tuple[str, ...]) -> ChordName | None:
    """Return what music21 calls notes; ``None`` where it has no kind that MusicXML has."""
    from music21 import chord, harmony

    sounding = chord.Chord([name.replace("b", "-") for name in names])
    # The figure alone: music21 cannot read back every figure that it writes.
    _, kind_told = harmony.chordSymbolFigureFromChord(sounding, includeChordType=True)
    kind = _MUSIC21_KINDS.get(kind_told, kind_told)
    root, bass = sounding.root(), sounding.bass()
    tones = chord_tones(kind) or ()
    heard = {one.pitchClass for one in sounding.pitches}
    if heard != {(root.pitchClass + tone.semitones) % 12 for tone in tones}:
        return None
    over = None if bass.pitchClass == root.pitchClass else (bass.step, int(bass.alter))
    return ChordName((root.step, int(root.alter)), kind, over)
