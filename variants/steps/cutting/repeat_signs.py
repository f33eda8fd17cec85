"""Repeats, endings and jumps of a score, by measure; all parts together."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from variants.score import Barline, Direction, Score

# Words of directions that are no longer than a sign: remarks may speak of a fine tone.
_LONGEST_SIGN = 40
_WORDS = {
    "dacapo": re.compile(r"\bd\.\s*c\.|\bda\s+capo\b", re.IGNORECASE),
    "dalsegno": re.compile(r"\bd\.\s*s\.|\bdal\s+segno\b", re.IGNORECASE),
    "tocoda": re.compile(r"\bto\s+coda\b", re.IGNORECASE),
    "fine": re.compile(r"(?<!\bal )\bfine\b", re.IGNORECASE),
}
_SOUND = re.compile(r"\b(dacapo|dalsegno|tocoda|fine|segno|coda)=[\"']([^\"']*)[\"']")
_PICTURES = {
    "segno": re.compile(r"<segno\b"),
    "coda": re.compile(r"<coda\b"),
}
JUMPS = frozenset({"dacapo", "dalsegno", "tocoda", "fine"})
_SPAN = re.compile(r"(\d+)(?:\s*-\s*(\d+))?")
_MOST_PASSES = 99


@dataclass(frozen=True, slots=True)
class Ending:
    """An ending bracket: its first and last measure, and the passes that it is for."""

    first: int
    last: int
    passes: frozenset[int]


@dataclass(slots=True)
class Signs:
    """All signs of a score; measures are counted from 0.

    Args:
        length: Number of measures.
        forward: Measures that begin with a repeat sign.
        backward: Measures that end with one, with its number of times (0: not said).
        endings: Ending brackets in order.
        jumps: For each jump sign the measures that have it, with what it points to.
        targets: For ``segno`` and ``coda`` the measures that have it, with its label.
    """

    length: int
    forward: set[int] = field(default_factory=set)
    backward: dict[int, int] = field(default_factory=dict)
    endings: list[Ending] = field(default_factory=list)
    jumps: dict[str, dict[int, str]] = field(default_factory=dict)
    targets: dict[str, dict[int, str]] = field(default_factory=dict)

    @property
    def is_empty(self) -> bool:
        """Whether the score is played from first to last measure as it is printed."""
        return not (self.forward or self.backward or self.endings or self.jumps or self.targets)


def signs_of(score: Score) -> Signs:
    """Return the signs of a score; one that any part has holds for all."""
    length = max((len(part.measures) for part in score.parts), default=0)
    found = Signs(length)
    for part in score.parts:
        opened: tuple[int, str] | None = None
        for index, measure in enumerate(part.measures):
            for barline in _in_order(measure.barlines):
                if barline.repeat == "forward":
                    found.forward.add(index)
                elif barline.repeat == "backward":
                    found.backward[index] = max(barline.times, found.backward.get(index, 0))
                opened = _ending(found, index, barline, opened)
                for extra in barline.carried:
                    if extra.name in _PICTURES:
                        found.targets.setdefault(extra.name, {}).setdefault(index, "")
            for direction in measure.directions:
                _read_direction(found, index, direction)
    _settle_codas(found)
    found.endings.sort(key=lambda one: one.first)
    return found


def _in_order(barlines: Iterable[Barline]) -> list[Barline]:
    order = {"left": 0, "middle": 1, "right": 2}
    return sorted(barlines, key=lambda one: order.get(one.location, 1))


def _ending(
    found: Signs, index: int, barline: Barline, opened: tuple[int, str] | None
) -> tuple[int, str] | None:
    """Read the ending of a barline; return the bracket that is open after it."""
    if barline.ending is None:
        return opened
    number, kind, _ = barline.ending
    if kind == "start":
        return index, number
    if opened is not None:
        ending = Ending(opened[0], index, frozenset(_passes(opened[1])))
        if ending not in found.endings:
            found.endings.append(ending)
    return None


def _passes(text: str) -> Iterator[int]:
    for first, last in _SPAN.findall(text):
        yield from range(int(first), min(int(last or first), _MOST_PASSES) + 1)


def signs_in(direction: Direction) -> dict[str, str]:
    """Return the jump signs of a direction with what each points to.

    >>> signs_in(Direction(0, "<direction-type><words>D.C. al Fine</words></direction-type>",
    ...     words="D.C. al Fine"))
    {'dacapo': ''}
    """
    found = dict(_SOUND.findall(direction.sound))
    if direction.words and len(direction.words) < _LONGEST_SIGN:
        for name, pattern in _WORDS.items():
            if pattern.search(direction.words):
                found.setdefault(name, "")
    for name, pattern in _PICTURES.items():
        # A coda sign beside "To Coda" shows the way to it.
        if pattern.search(direction.xml) and not (name == "coda" and "tocoda" in found):
            found.setdefault(name, "")
    return found


def _read_direction(found: Signs, index: int, direction: Direction) -> None:
    for name, label in signs_in(direction).items():
        shelf = found.jumps if name in JUMPS else found.targets
        shelf.setdefault(name, {}).setdefault(index, label)


def _settle_codas(found: Signs) -> None:
    """Take the first of two coda signs for the way to the second where no words say so."""
    codas = found.targets.get("coda", {})
    if len(codas) > 1 and "tocoda" not in found.jumps:
        first = min(codas)
        found.jumps["tocoda"] = {first: codas.pop(first)}
