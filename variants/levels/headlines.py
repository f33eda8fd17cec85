"""What a version practises in a few lines, for the head of a sheet."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import pairwise

from variants.levels.teaching import Lesson, lessons
from variants.score import Score

# What a pupil reads before playing; the whole list is in `lessons`.
MOST_LINES = 7
_PLURAL = "s"
_TUPLETS = {"3:2": "triplets", "2:3": "duplets", "5:4": "quintuplets", "6:4": "sextuplets"}


def headlines(score: Score, *, most: int = MOST_LINES) -> tuple[str, ...]:
    """Return what the first fretted part of a score practises, the most telling lines first.

    Lines on the neck are there only where places are set.

    >>> from variants.score import Part
    >>> headlines(Score(ticks=1, parts=(Part("P1", "Guitar", ()),)))
    ()
    """
    if not score.parts:
        return ()
    part = next((one for one in score.parts if one.instrument is not None), score.parts[0])
    kinds: dict[str, list[Lesson]] = {}
    for lesson in lessons(score, part):
        kinds.setdefault(lesson.kind, []).append(lesson)
    lines = [line for kind, found in _ordered(kinds) for line in _LINES[kind](found)]
    return tuple(lines[:most])


def _ordered(kinds: dict[str, list[Lesson]]) -> Iterator[tuple[str, list[Lesson]]]:
    for kind in _LINES:
        if kind in kinds:
            yield kind, kinds[kind]


def _notes(found: list[Lesson]) -> Iterator[str]:
    strings = sorted({int(str(one.key[0])) for one in found}, reverse=True)
    frets = sorted({int(str(one.key[1])) for one in found})
    low = "open" if not frets[0] else f"fret {frets[0]}"
    reach = low if frets[0] == frets[-1] else f"{low} to fret {frets[-1]}"
    yield f"{_numbered('string', strings)}, {reach}"


def _landmarks(found: list[Lesson]) -> Iterator[str]:
    frets = sorted(int(str(one.key[0])) for one in found)
    yield f"landmark {_numbered('fret', frets)}"


def _shifts(found: list[Lesson]) -> Iterator[str]:
    count = sum(one.count for one in found)
    if count == 1:
        yield found[0].text.split(" (")[0]
        return
    farthest = max(found, key=lambda one: abs(int(str(one.key[1])) - int(str(one.key[0]))))
    yield f"{count} {farthest.text.split(' (')[0].replace('shift', 'shifts, one', 1)}"


def _dyads(found: list[Lesson]) -> Iterator[str]:
    names = [one.text.removeprefix("dyads: ").split(" (")[0] for one in _often(found)]
    shown = names if len(names) < 4 else [*names[:3], "others"]
    yield f"dyads: {_listed(shown)}"


def _values(found: list[Lesson]) -> Iterator[str]:
    names = [one.text.removesuffix(" notes") for one in _often(found)]
    yield f"{_listed(names)} notes"


def _off_beats(found: list[Lesson]) -> Iterator[str]:
    beats = sorted({int(str(one.key[0])) for one in found})
    held = any(int(str(one.key[1])) == 3 for one in found)
    yield f"off-beats after {_numbered('beat', beats)}{', some held over' if held else ''}"


def _texts(found: list[Lesson]) -> Iterator[str]:
    names = [one.text for one in _often(found)]
    yield _listed(names)


def _tuplets(found: list[Lesson]) -> Iterator[str]:
    names = [_TUPLETS.get(str(one.key[0]), one.text) for one in _often(found)]
    yield _listed(names)


def _kinds_of(found: list[Lesson]) -> Iterator[str]:
    yield "ornaments: " + _listed([one.text.removeprefix("ornaments: ") for one in _often(found)])


def _key(found: list[Lesson]) -> Iterator[str]:
    signed = [one.text for one in found if one.key[0]]
    if signed:
        yield _listed(signed)


# In the order in which a teacher would say them.
_LINES = {
    "note": _notes,
    "shift": _shifts,
    "barre": _texts,
    "dyad": _dyads,
    "chord": _texts,
    "value": _values,
    "tuplet": _tuplets,
    "off-beat": _off_beats,
    "tie": _texts,
    "ornament": _kinds_of,
    "key": _key,
    "landmark": _landmarks,
}


def _often(found: Iterable[Lesson]) -> list[Lesson]:
    """Return lessons, those that are met most often first."""
    return sorted(found, key=lambda one: -one.count)


def _numbered(word: str, numbers: list[int]) -> str:
    """Return numbers with their word; runs of three and more are shortened.

    >>> _numbered("string", [6, 5, 4]), _numbered("fret", [3]), _numbered("beat", [1, 3])
    ('strings 6 to 4', 'fret 3', 'beats 1 and 3')
    """
    step = numbers[1] - numbers[0] if len(numbers) > 2 else 0
    runs = all(two - one == step for one, two in pairwise(numbers))
    if abs(step) == 1 and runs:
        return f"{word}{_PLURAL} {numbers[0]} to {numbers[-1]}"
    return f"{word}{_PLURAL if len(numbers) > 1 else ''} {_listed(list(map(str, numbers)))}"


def _listed(words: list[str]) -> str:
    """Return words as a list.

    >>> _listed(["half", "quarter", "eighth"])
    'half, quarter and eighth'
    """
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"
