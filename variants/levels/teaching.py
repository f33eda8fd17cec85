"""What a piece practises, in a teacher's words, and what of it is new."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from variants.fingering import roman
from variants.levels.level import BARRES, OFF_BEATS, TIES, Level
from variants.levels.rubric import is_barred
from variants.levels.signs import ornament_kinds
from variants.levels.written import Written, WrittenNote, WrittenStroke, written_part
from variants.music import Interval
from variants.score import Part, Score

# Marked on most necks but a classical one's (common practice); see `variants.guitar.neck`.
LANDMARKS = (3, 5, 7, 9, 12)
_QUALITIES = {
    "P": "perfect",
    "M": "major",
    "m": "minor",
    "A": "augmented",
    "d": "diminished",
}
_SIZES = ("unison", "second", "third", "fourth", "fifth", "sixth", "seventh")
# Inversions of what is heard as the plain form (common practice).
_INVERTED = {"fourth": "fifth", "sixth": "third", "second": "seventh"}
_OFF_TEXTS = ("", "with the beat struck", "with the beat held or silent", "held over the next beat")
_HALF_BARRE_STRINGS = 5

Key = tuple[object, ...]


@dataclass(frozen=True, slots=True)
class Lesson:
    """One skill that a piece practises.

    Args:
        kind: ``note``, ``landmark``, ``dyad``, ``chord``, ``value``, ``off-beat``, ``tie``,
            ``tuplet``, ``shift``, ``barre``, ``key``, ``ornament``.
        key: What tells it from other skills of its kind.
        text: In a teacher's words.
        measures: Printed numbers of the measures that practise it, in order.
        count: How often it is met.
    """

    kind: str
    key: Key
    text: str
    measures: tuple[str, ...]
    count: int

    @property
    def name(self) -> Key:
        """Kind and key: two pieces practise the same skill where these are equal."""
        return (self.kind, *self.key)


@dataclass(slots=True)
class _Book:
    """Gathers lessons in the order in which they are first met."""

    found: dict[Key, tuple[str, list[int]]] = field(default_factory=dict)

    def add(self, kind: str, key: Key, text: str, where: int) -> None:
        self.found.setdefault((kind, *key), (text, []))[1].append(where)

    def lessons(self, written: Written) -> Iterator[Lesson]:
        for (kind, *key), (text, places) in self.found.items():
            numbers = tuple(written.numbers[index] for index in sorted(set(places)))
            yield Lesson(str(kind), tuple(key), text, numbers, len(places))


_ORDER = (
    *("key", "note", "landmark", "shift", "barre", "dyad", "chord"),
    *("value", "off-beat", "tie", "tuplet", "ornament"),
)


def lessons(score: Score, part: Part) -> tuple[Lesson, ...]:
    """Return what a part practises; what hangs on the neck, only where places are set."""
    return lessons_of(written_part(score, part))


def lessons_of(written: Written) -> tuple[Lesson, ...]:
    """Return what a part as it is written practises; see `lessons`."""
    book = _Book()
    for index, key in enumerate(written.keys):
        signs = abs(key.fifths)
        count = f"{signs} {'sharp' if key.fifths > 0 else 'flat'}{'' if signs == 1 else 's'}"
        book.add("key", (key.fifths,), f"signature of {count if signs else 'no signs'}", index)
    for stroke in written.strokes:
        _notes(book, stroke)
        _together(book, stroke)
        kind = 0 if stroke.grace else written.off_beat(stroke)
        if kind:
            beat = int(stroke.beat)
            text = f"off-beats after beat {beat}, {_OFF_TEXTS[kind]}"
            book.add("off-beat", (beat, kind), text, stroke.measure)
    _shifts(book, written)
    _rhythm(book, written)
    found = list(book.lessons(written))
    return tuple(sorted(found, key=lambda one: _ORDER.index(one.kind)))


def _notes(book: _Book, stroke: WrittenStroke) -> None:
    for note in stroke.notes:
        if not note.string:
            continue
        where = "open" if not note.fret else f"fret {note.fret}"
        text = f"{note.pitch} on string {note.string} ({where})"
        book.add("note", (note.string, note.fret, str(note.pitch)), text, stroke.measure)
        if note.fret in LANDMARKS:
            text = f"the landmark at fret {note.fret}"
            book.add("landmark", (note.fret,), text, stroke.measure)


def _together(book: _Book, stroke: WrittenStroke) -> None:
    if len(stroke.notes) == 2:
        low, high = (note.pitch for note in stroke.notes)
        name = Interval.between(low, high).simple.name
        book.add("dyad", (name,), interval_text(name), stroke.measure)
    elif len(stroke.notes) > 2:
        count = len(stroke.notes)
        book.add("chord", (count,), f"chords of {count} notes", stroke.measure)
    if is_barred(stroke.notes):
        held = [n for n in stroke.notes if n.fret and 1 <= n.finger <= 4]
        doubled = {(n.finger, n.fret) for n in held if _times(held, n.finger, n.fret) > 1}
        for finger, fret in sorted(doubled):
            strings = [n.string for n in held if (n.finger, n.fret) == (finger, fret)]
            wide = max(strings) - min(strings) + 1
            text = f"a barre over {wide} strings"
            book.add("barre", (wide,), text, stroke.measure)


def _times(held: list[WrittenNote], finger: int, fret: int) -> int:
    return sum((n.finger, n.fret) == (finger, fret) for n in held)


def interval_text(name: str) -> str:
    """Return a dyad in words, and of what it is the inversion.

    >>> interval_text("P4"), interval_text("M3")
    ('dyads: perfect fourth (an inverted perfect fifth)', 'dyads: major third')
    """
    quality, size = _QUALITIES.get(name[:1], name[:1]), int(name[1:])
    word = "octave" if size == 8 else _SIZES[(size - 1) % 7]
    plain = _INVERTED.get(word)
    if plain is None:
        return f"dyads: {quality} {word}"
    other = {"major": "minor", "minor": "major", "augmented": "diminished"}
    swapped = {**other, "diminished": "augmented"}.get(quality, quality)
    return f"dyads: {quality} {word} (an inverted {swapped} {plain})"


def _shifts(book: _Book, written: Written) -> None:
    before: int | None = None
    for stroke in written.strokes:
        position = written.position(stroke)
        if position is None:
            continue
        if before is not None and abs(position - before) > 1:
            way = written.between_mm(before, position)
            text = f"shift from position {roman(before)} to {roman(position)} ({way:.0f} mm)"
            book.add("shift", (before, position), text, stroke.measure)
            before = position
        elif before is None:
            before = position


def _rhythm(book: _Book, written: Written) -> None:
    for one in written.values:
        if one.is_rest or not one.value.type:
            continue
        where = one.stroke.measure
        if one.value.is_tuplet:
            ratio = f"{one.value.actual}:{one.value.normal}"
            book.add("tuplet", (ratio,), f"tuplets of {ratio}", where)
        else:
            book.add("value", (str(one.value),), f"{one.value} notes", where)
    texts = ("", "ties from beat to beat", "ties off the beat", "ties over the barline")
    for stroke, kind in written.ties:
        book.add("tie", (kind,), texts[kind], stroke.measure)
    for event, stroke in written.ornamented:
        for name in sorted(ornament_kinds(event)):
            book.add("ornament", (name,), f"ornaments: {name}", stroke.measure)


# --- what is new ----------------------------------------------------------------------------------


def new_after(now: Iterable[Lesson], before: Iterable[Lesson]) -> tuple[Lesson, ...]:
    """Return the lessons that no piece before has."""
    known = {one.name for one in before}
    return tuple(one for one in now if one.name not in known)


def beyond(now: Iterable[Lesson], level: Level) -> tuple[Lesson, ...]:
    """Return the lessons that a level does not hold."""
    return tuple(one for one in now if not is_within(one, level))


def is_within(one: Lesson, level: Level) -> bool:
    """Whether a level holds a lesson."""
    limits = level.limits
    found = True
    if one.kind == "note":
        string, fret = int(str(one.key[0])), int(str(one.key[1]))
        found = not level.areas or any(area.holds(string, fret) for area in level.areas)
    elif one.kind == "landmark":
        fret = int(str(one.key[0]))
        found = not level.areas or any(a.frets[0] <= fret <= a.frets[1] for a in level.areas)
    elif one.kind in {"dyad", "chord"} and limits.notes_at_once is not None:
        found = limits.notes_at_once.value >= (2 if one.kind == "dyad" else int(str(one.key[0])))
    elif one.kind == "value" and limits.note_values is not None:
        found = one.key[0] in limits.note_values.value
    elif one.kind == "off-beat" and limits.off_beats is not None:
        found = int(str(one.key[1])) <= OFF_BEATS.index(limits.off_beats.value)
    elif one.kind == "tie" and limits.ties is not None:
        found = int(str(one.key[0])) <= TIES.index(limits.ties.value)
    elif one.kind == "tuplet" and limits.tuplets is not None:
        found = one.key[0] in limits.tuplets.value
    elif one.kind == "ornament" and limits.ornaments is not None:
        found = one.key[0] in limits.ornaments.value
    elif one.kind == "key" and limits.signature is not None:
        found = abs(int(str(one.key[0]))) <= limits.signature.value
    elif one.kind == "barre" and limits.barres is not None:
        wide = 1 if int(str(one.key[0])) <= _HALF_BARRE_STRINGS else 2
        found = wide <= BARRES.index(limits.barres.value)
    return found
