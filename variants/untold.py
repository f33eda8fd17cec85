"""What a step changed and did not say itself: every note that differs, by measure, in plain words.

A step tells why it did what it did; that nothing is missing from its log is seen to here.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from itertools import pairwise

from variants.music.pitch import Alteration
from variants.score import Part, Place
from variants.score.survey import PartSurvey, Sounds

_Note = tuple[Alteration, int, Place | None]
_NO_PLACE = "places"
_PLACES = frozenset({_NO_PLACE, "moved", "placed"})
# What is said of some notes, in the order in which it is said.
_WORDS = {
    "gone": "{notes} left out",
    "added": "{notes} added",
    "up": "{notes} moved up an octave",
    "down": "{notes} moved down an octave",
    "far": "{notes} moved by several octaves",
    "other": "{notes} changed in pitch, time or length",
    "longer": "{notes} made longer",
    "shorter": "{notes} made shorter",
    "moved": "{notes} played on another string or fret",
    "placed": "string and fret chosen for {notes}",
    _NO_PLACE: "string and fret of {notes} no longer hold",
}


def untold(
    before: PartSurvey, after: PartSurvey, *, shift: int, told: Collection[str], is_new: bool
) -> Iterator[str]:
    """Yield a line for each kind of change in measures of which nothing is said.

    Args:
        before: A part before the step, in the ticks and the order of measures of ``after``.
        after: The part after it.
        shift: By how many semitones the step moves every note, which it says once for all.
        told: Printed numbers of the measures of which the step speaks itself; string and fret that
            no longer hold are told of these too.
        is_new: Whether the step strikes other notes at other times, so that which one became which
            cannot be told.
    """
    found: dict[str, list[int]] = {}
    for index, (old, new) in enumerate(zip(before.sounds, after.sounds, strict=False)):
        is_told = after.part.measures[index].number in told
        for kind in _kinds(old, new, shift):
            if kind == _NO_PLACE or not is_told:
                word = "other" if is_new and kind not in _PLACES else kind
                found.setdefault(word, []).append(index)
    for kind, words in _WORDS.items():
        if kind in found:
            number = len(found[kind])
            notes = "1 note" if number == 1 else f"{number} notes"
            line = f"{words.format(notes=notes)} in {measures_text(after.part, found[kind])}"
            end = "; they are chosen anew where tab is written" if kind == _NO_PLACE else ""
            yield line + end


def measures_text(part: Part, indices: Iterable[int]) -> str:
    """Return measures by their printed numbers: ``measure 3``, ``measures 3 to 5, 8``."""
    ordered = sorted(set(indices))
    starts = [0, *(n for n, (a, b) in enumerate(pairwise(ordered), 1) if b != a + 1), len(ordered)]
    runs = [ordered[start:end] for start, end in pairwise(starts)]
    names = [[part.measures[index].number for index in run] for run in runs]
    spans = [one[0] if len(one) == 1 else f"{one[0]} to {one[-1]}" for one in names]
    return f"measure{'s' if len(ordered) > 1 else ''} {', '.join(spans)}"


def _kinds(before: Sounds, after: Sounds, shift: int) -> Iterator[str]:
    """Yield a word for each note that differs."""
    if before == after and not shift:
        return
    for moment in before.keys() | after.keys():
        old = [(height + shift, length, place) for height, length, place in before.get(moment, [])]
        yield from _at_moment(old, list(after.get(moment, [])))


def _at_moment(old: Sequence[_Note], new: list[_Note]) -> Iterator[str]:
    left: list[_Note] = []
    for one in old:
        # The same note as it was comes first, then the same pitch.
        same = next((n for n in new if n == one), None)
        same = same or next((n for n in new if n[0] == one[0]), None)
        if same is None:
            left.append(one)
            continue
        new.remove(same)
        yield from _compared(one, same)
    for one in left:
        other = next((n for n in new if (n[0] - one[0]) % 12 == 0), None)
        if other is None:
            yield "gone"
            continue
        new.remove(other)
        yield {12: "up", -12: "down"}.get(int(other[0] - one[0]), "far")
        yield from _compared(one, other)
    yield from ("added" for _ in new)


def _compared(old: _Note, new: _Note) -> Iterator[str]:
    if old[1] != new[1]:
        yield "longer" if new[1] > old[1] else "shorter"
    if old[2] != new[2]:
        yield "placed" if old[2] is None else _NO_PLACE if new[2] is None else "moved"
