"""The root of notes that sound together."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from variants.music.pitch import Alteration, Pitch

# What each interval above a note, in semitones, adds to its claim to be the root: the root
# supports of Parncutt, "Revision of Terhardt's psychoacoustical model of the root(s) of a
# musical chord" (Music Perception 6, 1988), quoted from memory.
_SUPPORT = {0: 10, 7: 5, 4: 3, 10: 2, 2: 1}
# Our own: what the lowest note gains where no stack of thirds decides, so that C F G is a
# suspended chord on C and F G C one on F.
_BASS_BONUS = 2
# The lower note of a fifth, third or seventh is its root, the upper one of their complements.
_ROOT_BELOW = {3, 4, 7, 10, 11}


def root_of(pitches: Sequence[Pitch]) -> Pitch | None:
    """Return the root of notes that sound together, one of them; ``None`` for no notes.

    Two pitch classes: the lower note of a fifth, third or seventh, the upper of a fourth,
    sixth or second; the lowest note of a tritone. More: the note that all others stack on in
    thirds (spelling decides where the keyboard cannot, as in a diminished seventh); else the
    note with most support.

    >>> root = lambda text: str(root_of([Pitch.parse(name) for name in text.split()]))
    >>> root("B2 E3"), root("E3 G3 C4"), root("G3 A3 C4 E4"), root("B3 D4 F4 Ab4")
    ('E3', 'C4', 'A3', 'B3')
    """
    ordered = sorted(pitches, key=lambda pitch: pitch.semitones)
    lowest: dict[Alteration, Pitch] = {}
    for pitch in ordered:
        lowest.setdefault(pitch.pitch_class, pitch)
    different = list(lowest.values())
    if len(different) < 2:
        return different[0] if different else None
    if len(different) == 2:
        low, high = different
        distance = (high.pitch_class - low.pitch_class) % 12
        return high if distance != 6 and distance not in _ROOT_BELOW else low
    return _stacked(different) or max(different, key=lambda pitch: _support(pitch, different))


def _stacked(different: list[Pitch]) -> Pitch | None:
    """Return the note on which the others stand in thirds, if there is one."""
    found = [pitch for pitch in different if _carries(pitch, different)]
    spelled = [pitch for pitch in found if _is_spelled_in_thirds(pitch, different)]
    return next(iter(spelled or found), None)


def _carries(root: Pitch, different: list[Pitch]) -> bool:
    """Whether all other notes are third, fifth and seventh of a usual chord on the root."""
    above = {(pitch.pitch_class - root.pitch_class) % 12 for pitch in different} - {0}
    third, fifth, seventh = above & {3, 4}, above & {6, 7, 8}, above & {9, 10, 11}
    if above != third | fifth | seventh or len(third) != 1 or len(fifth) > 1 or len(seventh) > 1:
        return False
    if 9 in seventh:
        return above == {3, 6, 9}  # the diminished seventh
    # An augmented fifth stands over a major third; 3 and 8 are rather a major chord upside down.
    return not (3 in third and 8 in fifth)


def _is_spelled_in_thirds(root: Pitch, different: list[Pitch]) -> bool:
    steps = sorted((pitch.steps - root.steps) % 7 for pitch in different)
    return all(step in {0, 2, 4, 6} for step in steps) and all(a != b for a, b in pairwise(steps))


def _support(root: Pitch, different: list[Pitch]) -> int:
    claims = sum(
        _SUPPORT.get(int((pitch.pitch_class - root.pitch_class) % 12), 0) for pitch in different
    )
    return claims + (_BASS_BONUS if root is different[0] else 0)
