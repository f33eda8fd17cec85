"""The family `all-keys`: a piece in each of the twelve keys."""

from __future__ import annotations

from dataclasses import dataclass

from variants.errors import Refusal
from variants.fingering import Settings
from variants.fingering.score import finger_score
from variants.music import UNISON, Interval, Key
from variants.score import Score, key_at_start
from variants.steps.framework.reading import choice
from variants.steps.framework.registry import Checked, Member, parameter, register_family
from variants.steps.moves.intervals import fitted, heights, octaves, to_key
from variants.steps.transpose import Transpose

_NAME = "all-keys"
_KEYS = 12
_STARTS = ("own", "plain")
# Octaves around the nearest one that are tried on the neck. What lies further from the source than
# an octave is another register, and taken only where nothing nearer is in range.
_TRIED = (0, -1, 1, -2, 2)
_NEAR = 12
# Signatures with six sharps and six flats sound the same. Readers expect F# major, but E flat minor
# before D sharp minor (common practice of collections in all keys).
_MOST_SHARPS, _MOST_SHARPS_IN_MINOR = 6, 5


@register_family(_NAME, examples=("all-keys", "all-keys:start=plain"))
@dataclass(frozen=True, slots=True, kw_only=True)
class AllKeys(Checked):
    """Write the piece in each of the twelve keys, in the order of the circle of fifths.

    The piece's own key stays as it is written. Each other one gets the octave that is easiest to
    play: of those within an octave of the source in which the instruments have all the notes, the
    one whose best fingering costs least. Twelve steps of a fifth lead through
    every key and back; of two names for a key the one with fewer signs is taken, of F sharp and
    G flat major the sharp one, of D sharp and E flat minor the flat one.
    """

    start: str = parameter(
        "own", "the first key: the piece's own, or the one without signs", choice("own", "plain")
    )

    def keys(self, score: Score) -> tuple[Key, ...]:
        """Return the twelve keys in order.

        Raises:
            Refusal: The score has no key signature to start from.
        """
        own = next((key for part in score.parts if (key := key_at_start(part))), None)
        if own is None:
            raise Refusal(
                "the score has no key signature, so its keys cannot be named",
                way_out="set a key signature, or use transpose:semitones=",
            )
        first = own.fifths if self.start == "own" else 0
        keys = (Key(_printed(first + number, own.mode), own.mode) for number in range(_KEYS))
        # The piece's own key keeps its name, seven signs or not.
        return tuple(own if (key.fifths - own.fifths) % _KEYS == 0 else key for key in keys)

    def expand(self, score: Score) -> tuple[Member, ...]:
        """Return a variant for each key.

        Raises:
            Refusal: The score has no key signature to start from.
        """
        members = []
        for number, key in enumerate(self.keys(score), 1):
            interval = _best(score, to_key(score, key, "nearest"))
            steps = () if interval == UNISON else (Transpose(interval=interval, octave="keep"),)
            members.append(Member(f"{number:02}-{_file_name(key)}", str(key), steps))
        return tuple(members)


def _printed(fifths: int, mode: str = "major") -> int:
    """Return the signature with the fewest signs that sounds the same.

    >>> [_printed(number) for number in (5, 6, 7, -6, -7)], _printed(6, "minor")
    ([5, 6, -5, 6, 5], -6)
    """
    most = _MOST_SHARPS_IN_MINOR if mode in {"minor", "aeolian"} else _MOST_SHARPS
    found = (fifths + _KEYS // 2 - 1) % _KEYS - (_KEYS // 2 - 1)
    return found if found <= most else found - _KEYS


def _file_name(key: Key) -> str:
    """Return a key as part of a file name.

    >>> _file_name(Key(6, "major")), _file_name(Key(-3, "minor"))
    ('f-sharp-major', 'c-minor')
    """
    letter, sign = key.tonic[0].lower(), key.tonic[1:]
    word = {"#": "-sharp", "b": "-flat", "": ""}.get(sign, "-altered")
    return f"{letter}{word}-{key.mode or 'major'}"


def _best(score: Score, nearest: Interval) -> Interval:
    """Return the interval with the octave that is easiest to play."""
    found = [nearest + octaves(number) for number in _TRIED]
    inside = [one for one in found if _is_in_range(score, one)]
    if nearest == UNISON and nearest in inside:
        return nearest
    inside = [one for one in inside if abs(one.semitones) <= _NEAR] or inside[:1]
    if len(inside) < 2:
        return inside[0] if inside else fitted(score, nearest)
    costs = [(_cost(score, one), place) for place, one in enumerate(inside)]
    playable = [(cost, place) for cost, place in costs if cost is not None]
    return inside[min(playable)[1]] if playable else inside[0]


def _is_in_range(score: Score, interval: Interval) -> bool:
    return all(
        bool(part.instrument.places(height + interval.semitones))
        for part in score.parts
        if part.instrument is not None
        for height in set(heights(part))
    )


def _cost(score: Score, interval: Interval) -> float | None:
    """Return what the best fingering of a transposition costs; ``None`` if there is none."""
    if interval == UNISON:
        moved = score
    else:
        moved = Transpose(interval=interval, octave="keep")(score)
    try:
        done = finger_score(moved, Settings(), keep_places=False)
    except Refusal:
        return None
    # Rounded, so that noise in the last digit decides nothing.
    return round(sum(one.hand.cost for hands in done.hands.values() for one in hands), 6)
