"""What differs between two versions of a piece, measure by measure.

The sounding notes of a measure are compared where they begin. A version that is moved as a
whole, into another key, is compared after it is moved back, so that what else was done to it
can still be seen.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from variants.music import Interval, Pitch
from variants.score import Measure, Part, Place, Score, timeline
from variants.sheets.facts import signed

# In the order in which they are named.
MOVED = "moved"
NEW = "new"
FEWER = "fewer notes"
OCTAVE = "octave"
NOTES = "notes"
RHYTHM = "rhythm"
PLACE = "place"
FINGERS = "fingers"
WORDS = "words"
# More notes than these are not spelled out in a sentence.
_MOST_SPELLED = 8
# Whether the first version and the other one say where notes are played.
_NECK = {
    (False, True): "Strings, frets and fingers are set here",
    (True, False): "Strings, frets and fingers are not set here",
    (True, True): "",
    (False, False): "",
}


@dataclass(frozen=True, slots=True)
class MeasureDifference:
    """How a measure differs from the same measure of the first version.

    Args:
        measure: Index of the measure, from 0.
        number: Its printed number.
        kinds: In what it differs, in a word or two each.
        detail: What was there and what is there now, where notes differ; else empty.
    """

    measure: int
    number: str
    kinds: tuple[str, ...]
    detail: str = ""


@dataclass(frozen=True, slots=True)
class Comparison:
    """How a version differs from the first one.

    Args:
        measures: The measures that differ, in order.
        moved: By what the whole version is moved: ``2 semitones (M2) higher``; empty for nothing.
        missing: Numbers of the measures that only the first version has.
        neck: What is other about the neck as a whole; empty for nothing.
    """

    measures: tuple[MeasureDifference, ...]
    moved: str = ""
    missing: tuple[str, ...] = ()
    neck: str = ""


@dataclass(frozen=True, slots=True)
class _Struck:
    """What begins together, all voices and tied notes left out."""

    at: Fraction
    length: Fraction
    pitches: tuple[Pitch, ...]
    places: tuple[tuple[Place, str], ...]

    def heights(self, shift: int) -> tuple[int, ...]:
        return tuple(sorted(round(pitch.semitones) - shift for pitch in self.pitches))


@dataclass(frozen=True, slots=True)
class _Seen:
    """What is compared of a measure."""

    number: str
    struck: tuple[tuple[_Struck, ...], ...]
    words: tuple[str, ...]
    length: Fraction

    @property
    def moments(self) -> list[_Struck]:
        return [one for part in self.struck for one in part]

    def heights(self, shift: int) -> list[tuple[int, ...]]:
        return [one.heights(shift) for one in self.moments]


def compare(first: Score, other: Score) -> Comparison:
    """Return how a version differs from the first one.

    Measures stand against each other by their printed numbers; where numbers repeat, by their
    order.
    """
    old, new = _seen(first), _seen(other)
    pairs = _paired(old, new)
    shift, moved = _shift(pairs)
    placed = [any(one.places for seen in side for one in seen.moments) for side in (old, new)]
    found = []
    for index, (before, now) in enumerate(pairs):
        kinds = tuple(_kinds(before, now, shift, places=all(placed))) if before else (NEW,)
        if kinds:
            detail = _detail(before, now) if before and set(kinds) & {FEWER, OCTAVE, NOTES} else ""
            found.append(MeasureDifference(index, now.number, kinds, detail))
    met = {id(before) for before, _ in pairs}
    missing = tuple(seen.number for seen in old if id(seen) not in met)
    return Comparison(tuple(found), moved, missing, _NECK[placed[0], placed[1]])


def _seen(score: Score) -> list[_Seen]:
    rows = zip(*(part.measures for part in score.parts), strict=False)
    struck = zip(*(_struck(part, score.ticks) for part in score.parts), strict=False)
    return [_measure(row, here, score.ticks) for row, here in zip(rows, struck, strict=True)]


def _measure(row: Sequence[Measure], struck: tuple[tuple[_Struck, ...], ...], ticks: int) -> _Seen:
    words = tuple(
        lyric.text for measure in row for event in measure.events for lyric in event.lyrics
    )
    return _Seen(row[0].number, struck, words, Fraction(row[0].length, ticks))


def _struck(part: Part, ticks: int) -> list[tuple[_Struck, ...]]:
    """Return what begins in each measure in order of time; grace notes before what they lead to."""
    sounding = timeline(part)
    made: list[list[_Struck]] = [[] for _ in part.measures]
    for (index, tick, _), together in sounding.struck.items():
        events = [(one.key[3], sounding.by_key[one.key[:3]]) for one in together]
        found = sorted(
            (event.notes[at] for at, event in events),
            key=lambda note: note.pitch.semitones if note.pitch else 0,
        )
        made[index].append(
            _Struck(
                Fraction(tick, ticks),
                Fraction(max(event.duration for _, event in events), ticks),
                tuple(note.pitch for note in found if note.pitch),
                tuple((note.place, note.finger) for note in found if note.place),
            )
        )
    return [tuple(here) for here in made]


def _paired(old: list[_Seen], new: list[_Seen]) -> list[tuple[_Seen | None, _Seen]]:
    numbers = {seen.number: seen for seen in old}
    if len(numbers) == len(old) and len({seen.number for seen in new}) == len(new):
        return [(numbers.get(seen.number), seen) for seen in new]
    padded: list[_Seen | None] = [*old, *[None] * (len(new) - len(old))]
    return list(zip(padded, new, strict=False))


def _shift(pairs: list[tuple[_Seen | None, _Seen]]) -> tuple[int, str]:
    """Return by how many semitones most of the measures are moved, and that in words."""
    votes: Counter[int] = Counter()
    example: dict[int, tuple[Pitch, Pitch]] = {}
    for before, now in pairs:
        if before is None or not before.moments or not now.moments:
            continue
        low, high = before.moments[0].pitches[-1], now.moments[0].pitches[-1]
        shift = round(high.semitones - low.semitones)
        if before.heights(0) == now.heights(shift):
            votes[shift] += 1
            example.setdefault(shift, (low, high))
    if not votes:
        return 0, ""
    shift, count = max(votes.items(), key=lambda one: (one[1], -abs(one[0])))
    if not shift or count * 2 <= sum(before is not None for before, _ in pairs):
        return 0, ""
    low, high = example[shift]
    interval = Interval.between(low, high) if shift > 0 else Interval.between(high, low)
    size = f"{abs(shift)} semitone{'' if abs(shift) == 1 else 's'} ({interval.name})"
    return shift, f"{size} {'higher' if shift > 0 else 'lower'}"


def _kinds(before: _Seen, now: _Seen, shift: int, *, places: bool) -> Iterator[str]:
    if shift:
        yield MOVED
    old, new = before.moments, now.moments
    same = [one.heights(0) for one in old] == [one.heights(shift) for one in new]
    if not same:
        yield _how_notes_differ(before, now, shift)
    times = [(one.at, one.length) for one in old], [(one.at, one.length) for one in new]
    if times[0] != times[1] or before.length != now.length:
        yield RHYTHM
    if same and places:
        spots = [[place for place, _ in one.places] for one in old]
        if spots != [[place for place, _ in one.places] for one in new]:
            yield PLACE
        elif [one.places for one in old] != [one.places for one in new]:
            yield FINGERS
    if before.words != now.words:
        yield WORDS


def _how_notes_differ(before: _Seen, now: _Seen, shift: int) -> str:
    old, new = before.heights(0), now.heights(shift)
    if [_classes(one) for one in old] == [_classes(one) for one in new]:
        return OCTAVE
    there = Counter(height % 12 for one in old for height in one)
    here = Counter(height % 12 for one in new for height in one)
    return FEWER if here <= there else NOTES


def _classes(heights: Iterable[int]) -> list[int]:
    return sorted(height % 12 for height in heights)


def _detail(before: _Seen, now: _Seen) -> str:
    return f"was {_spelled(before)}; now {_spelled(now)}"


def _spelled(seen: _Seen) -> str:
    moments = seen.moments
    names = ["+".join(_name(pitch) for pitch in one.pitches) for one in moments[:_MOST_SPELLED]]
    more = " …" if len(moments) > _MOST_SPELLED else ""
    return " ".join(names) + more if names else "silent"


def _name(pitch: Pitch) -> str:
    return signed(str(pitch))


def in_words(comparison: Comparison) -> list[str]:
    """Return the comparison as lines; measures that differ alike share one.

    >>> rhythm = [MeasureDifference(n, str(n + 1), ("rhythm",)) for n in (0, 1)]
    >>> in_words(Comparison(tuple(rhythm)))
    ['Measures 1 and 2: rhythm']
    """
    lines = [f"All of it sounds {comparison.moved}"] if comparison.moved else []
    lines += [comparison.neck] if comparison.neck else []
    alike: dict[tuple[str, ...], list[str]] = {}
    for one in comparison.measures:
        kinds = tuple(kind for kind in one.kinds if kind != MOVED)
        if kinds:
            alike.setdefault(kinds, []).append(one.number)
    lines += [f"{_measures(numbers)}: {', '.join(kinds)}" for kinds, numbers in alike.items()]
    if comparison.missing:
        lines.append(f"{_measures(list(comparison.missing))}: not in this version")
    return lines


def _measures(numbers: list[str]) -> str:
    """Return measures in words, runs of them shortened."""
    runs: list[list[str]] = []
    for number in numbers:
        before = runs[-1][-1] if runs else ""
        if before.isdigit() and number.isdigit() and int(number) == int(before) + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    texts = [f"{run[0]} to {run[-1]}" if len(run) > 2 else " and ".join(run) for run in runs]
    return f"Measure{'s' if len(numbers) > 1 else ''} {', '.join(texts)}"
