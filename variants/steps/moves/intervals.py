"""Choose the interval of a transposition: its spelling, its octave, the way to a key."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from variants.errors import Refusal
from variants.music import PERFECT_OCTAVE, Interval, Key
from variants.music.key import MOST_FIFTHS
from variants.score import Part, Score, key_at_start, notes

# No search for a fitting octave goes further: no instrument has a wider range.
_MOST_OCTAVES = 6


def octaves(number: int) -> Interval:
    """Return a number of octaves, downward if negative."""
    return Interval(PERFECT_OCTAVE.steps * number, PERFECT_OCTAVE.semitones * number)


def keys(score: Score) -> Iterator[Key]:
    """Yield every key signature of a score that is on the circle of fifths."""
    for part in score.parts:
        for measure in part.measures:
            for change in measure.attributes:
                for sign in change.keys:
                    if sign.key is not None:
                        yield sign.key


def enharmonic(interval: Interval, steps: int) -> Interval:
    """Return the same distance named some letters higher: A4 one up is d5."""
    return Interval(interval.steps + steps, interval.semitones)


def printable_interval(score: Score, interval: Interval) -> Interval:
    """Return the interval, or its enharmonic one if key signatures would need over 7 signs.

    If no name of it prints every signature of the score, the one that fails least is taken.
    """
    found = set(keys(score))

    def excess(candidate: Interval) -> tuple[int, int]:
        over = sum(abs(key.moved(candidate).fifths) > MOST_FIFTHS for key in found)
        return over, abs(candidate.steps - interval.steps)

    if not excess(interval)[0]:
        return interval
    return min((enharmonic(interval, steps) for steps in (0, 1, -1, 2, -2)), key=excess)


def spelled(score: Score, semitones: int) -> Interval:
    """Return the name of a distance that is easiest to read in a score.

    That is the one with the fewest signs in its key signatures; without a signature the one
    with the fewest accidentals; the usual name (`Interval.of_semitones`) where they are equal.
    """
    usual = Interval.of_semitones(semitones)
    found = set(keys(score))
    used = Counter(
        note.pitch.fifths for part in score.parts for note in notes(part) if note.pitch is not None
    )

    def cost(candidate: Interval) -> tuple[int, int, int]:
        signs = max((abs(key.moved(candidate).fifths) for key in found), default=0)
        accidentals = sum(
            abs((fifths + candidate.fifths + 1) // 7) * number for fifths, number in used.items()
        )
        return signs, 0 if found else accidentals, abs(candidate.steps - usual.steps)

    return min((enharmonic(usual, steps) for steps in (0, 1, -1)), key=cost)


def to_key(score: Score, key: Key, direction: str) -> Interval:
    """Return the interval from a score's first key signature to another key.

    Raises:
        Refusal: The score has no key signature, or one of another mode.
    """
    source = next((found for part in score.parts if (found := key_at_start(part))), None)
    if source is None:
        raise Refusal(
            "the score has no key signature to start from",
            way_out="say how far with interval= or semitones=",
        )
    if source.is_known_mode and key.is_known_mode and _mode(source) != _mode(key):
        same_signature = Key(key.fifths, source.mode)
        raise Refusal(
            f"the score is in {source} and moving it cannot make it {key.mode}",
            way_out=f"ask for a {source.mode} key, such as {same_signature}",
        )
    fifths = key.fifths - source.fifths
    # A fifth is four letters and seven semitones; whole octaves are taken off again.
    wide = Interval(4 * fifths, 7 * fifths)
    up = wide + octaves(-(wide.semitones // PERFECT_OCTAVE.semitones))
    down = up + octaves(-1) if up.semitones else up
    if direction == "up":
        return up
    if direction == "down":
        return down
    return up if up.semitones <= -down.semitones else down


def _mode(key: Key) -> str:
    return {"ionian": "major", "aeolian": "minor"}.get(key.mode, key.mode)


def fitted(score: Score, interval: Interval) -> Interval:
    """Return the interval with the octaves that bring most notes into the instruments' range.

    Of equally good ones the given octave is kept, else the one that moves the music least.
    """
    ranges = [
        (Counter(heights(part)), part.instrument.lowest, part.instrument.highest)
        for part in score.parts
        if part.instrument is not None
    ]

    def cost(number: int) -> tuple[int, bool, int, int]:
        shift = interval.semitones + 12 * number
        outside = sum(
            times
            for used, low, high in ranges
            for height, times in used.items()
            if not low <= height + shift <= high
        )
        return outside, number != 0, abs(shift), -number

    return interval + octaves(min(range(-_MOST_OCTAVES, _MOST_OCTAVES + 1), key=cost))


def heights(part: Part) -> Iterator[int]:
    """Yield the MIDI number of every pitched note of a part."""
    for note in notes(part):
        if note.pitch is not None:
            yield note.pitch.midi
