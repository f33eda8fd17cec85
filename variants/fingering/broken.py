"""Broken chords that stand for a measure: which notes the hand does well to hold as one grip."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby

from variants.fingering.sounds import HandSound, Moment
from variants.guitar.grip import Reach, placements
from variants.music import Key, spelled
from variants.music.chordkinds import chord_name

# A broken chord begins with its lowest note and has three to six notes of three names or more, one
# or two struck at a time, in six moments or more: some come again. A line has steps in it and
# begins anywhere.
_FEWEST, _MOST, _TOGETHER, _NAMES, _MOMENTS = 3, 6, 2, 3, 6


@dataclass(frozen=True, slots=True)
class BrokenChord:
    """A broken chord.

    Args:
        moments: Indices of its moments, first and last.
        until: Ticks at which its last moment begins.
        midis: Its pitches.
    """

    moments: tuple[int, int]
    until: int
    midis: tuple[int, ...]


def broken_chords(
    sounds: Sequence[HandSound], moments: Sequence[Moment], reach: Reach
) -> Iterator[BrokenChord]:
    """Yield the measures that break one chord which a hand can hold.

    Args:
        sounds: The sounds of a passage.
        moments: What begins together, in time.
        reach: Instrument, hand and limits.
    """
    rows = [(number, moment) for number, moment in enumerate(moments) if not moment.grace]
    for _, group in groupby(rows, key=lambda row: sounds[row[1].members[0]].measure):
        inside = list(group)
        midis = tuple(sorted({sounds[i].midi for _, one in inside for i in one.members}))
        is_broken = (
            len(inside) >= max(_MOMENTS, len(midis) + 1)
            and midis[0] in {sounds[i].midi for i in inside[0][1].members}
            and all(len(one.members) <= _TOGETHER for _, one in inside)
        )
        if is_broken and _FEWEST <= len(midis) <= _MOST and _is_chord(midis, reach):
            first, last = inside[0][0], inside[-1][0]
            yield BrokenChord((first, last), inside[-1][1].onset, midis)


def _is_chord(midis: tuple[int, ...], reach: Reach) -> bool:
    if len({midi % 12 for midi in midis}) < _NAMES or len(midis) > len(reach.strings):
        return False
    named = chord_name([spelled(midi, Key(0)) for midi in midis])
    return named is not None and bool(placements(midis, reach))
