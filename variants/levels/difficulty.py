"""How hard a part is: a table of factors from 0 to 1, each with its unit, place and reason.

One number would hide what is hard (a published model that gives one of nine grades is right in
41.4% of its cases: Ramoneda and others). Amounts are turned into 0 to 1 either as a share of a
stated most, or as n / (n + half) for what can go on for ever; ``half`` and the most are ours,
unvalidated. Adding a note, an off-beat or a shift never lowers a factor, but for those that
measure repetition, which a note may bring.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from variants.guitar.hand import Hand
from variants.levels.rubric import (
    is_barred,
    rubric,
    shortest_change,
    stretch_share,
    weighted,
)
from variants.levels.written import Written, WrittenNote, WrittenStroke, written_part
from variants.musicxml.layout import notation_clef
from variants.score import Part, Score

# How hard the values themselves are, by name: the usual order of teaching, spread evenly.
_VALUES = {
    "whole": 0.1,
    "half": 0.1,
    "quarter": 0.1,
    "dotted half": 0.2,
    "eighth": 0.3,
    "dotted quarter": 0.5,
    "16th": 0.7,
    "dotted eighth": 0.8,
}
_OTHER_VALUE = 0.9
# Notes on the five lines: E4 to F5 are 30 to 38 letter steps above C0; under an F clef, G2 to A3.
_LOWEST_LINE, _HIGHEST_LINE = 30, 38
# What a way along one string weighs against a shift of a formed hand (our judgement).
_LED = 0.25
_F_CLEF_STEPS = 12


@dataclass(frozen=True, slots=True)
class Factor:
    """One factor of difficulty.

    Args:
        group: ``reading``, ``rhythm``, ``left hand``, ``right hand``, ``whole``.
        name: Its name.
        value: 0 to 1, higher is harder.
        amount: What was measured.
        unit: Its unit.
        measure: Printed number of the hardest measure; empty where it is the whole piece.
        reason: In words.
    """

    group: str
    name: str
    value: float
    amount: float
    unit: str
    measure: str
    reason: str


@dataclass(frozen=True, slots=True)
class _Amount:
    """What one measurement gives: how much, where, and in which words."""

    amount: float
    where: int | None = None
    reason: str = ""


def factors(
    score: Score, part: Part, *, hand: str | float = "medium", tempo: float = 120.0
) -> tuple[Factor, ...]:
    """Return the factors of a part; places and fingers count where they are set.

    Args:
        score: The score.
        part: One of its parts.
        hand: The pupil's hand.
        tempo: Quarters in a minute where the part has no tempo mark.

    Raises:
        UsageError: There is no such hand.
    """
    return factors_of(written_part(score, part, tempo=tempo), hand=hand)


def factors_of(written: Written, *, hand: str | float = "medium") -> tuple[Factor, ...]:
    """Return the factors of a part as it is written; see `factors`.

    Raises:
        UsageError: There is no such hand.
    """
    return tuple(_made(written, Hand.of(hand)))


def _made(written: Written, hand: Hand) -> Iterator[Factor]:
    for group, name, unit, scale, measure in FACTORS:
        found = measure(written, hand)
        value = (
            min(1.0, found.amount / scale)
            if scale > 0
            else (found.amount / (found.amount - scale) if found.amount else 0.0)
        )
        number = written.numbers[found.where] if found.where is not None else ""
        yield Factor(
            group, name, round(value, 4), round(found.amount, 4), unit, number, found.reason
        )


def _most(
    written: Written, of: Callable[[WrittenStroke], float], text: Callable[[WrittenStroke], str]
) -> _Amount:
    """Return the stroke with the most of something."""
    best = max(written.strokes, key=of, default=None)
    if best is None or of(best) <= 0:
        return _Amount(0.0)
    return _Amount(of(best), best.measure, text(best))


def _counted(number: int, thing: str) -> str:
    """Return ``1 tie``, ``2 ties``.

    >>> _counted(1, "tie"), _counted(2, "tie")
    ('1 tie', '2 ties')
    """
    first, *rest = thing.split(" ", 1)
    return " ".join([str(number), first if number == 1 else f"{first}s", *rest])


def _many(found: Sequence[WrittenStroke], thing: str) -> _Amount:
    """Return how many strokes there are of a kind, and the measure that has most of them."""
    if not found:
        return _Amount(0.0)
    counts: dict[int, int] = {}
    for one in found:
        counts[one.measure] = counts.get(one.measure, 0) + 1
    where = max(counts, key=lambda index: (counts[index], -index))
    return _Amount(len(found), where, f"{_counted(len(found), thing)}, {counts[where]} here")


# --- reading --------------------------------------------------------------------------------------


def _pitches(written: Written, _: Hand) -> _Amount:
    every = {note.pitch for one in written.strokes for note in one.notes}
    return _Amount(len(every), None, _counted(len(every), "note of different pitch"))


def _range(written: Written, _: Hand) -> _Amount:
    heights = [note.pitch.midi for one in written.strokes for note in one.notes]
    width = max(heights) - min(heights) if heights else 0
    return _Amount(
        width, None, f"{_counted(width, 'semitone')} from the lowest note to the highest"
    )


def _needed(note: WrittenNote, shift: int) -> int:
    steps = note.pitch.steps + shift
    return max(0, (steps - _HIGHEST_LINE) // 2, (_LOWEST_LINE - steps) // 2)


def _ledger(stroke: WrittenStroke, shift: int) -> float:
    return float(max(_needed(note, shift) for note in stroke.notes))


def _ledgers(written: Written, _: Hand) -> _Amount:
    shift = 0
    if written.instrument is not None:
        clef = notation_clef(written.instrument)
        shift = -7 * clef.octave_change + (_F_CLEF_STEPS if clef.sign == "F" else 0)

    def needs(one: WrittenStroke) -> str:
        farthest = max(one.notes, key=lambda note: _needed(note, shift))
        lines = _needed(farthest, shift)
        return f"{farthest.pitch} needs {lines} ledger {'line' if lines == 1 else 'lines'}"

    return _most(written, lambda one: _ledger(one, shift), needs)


def _accidentals(written: Written, _: Hand) -> _Amount:
    found = [
        one
        for one in written.strokes
        for note in one.notes
        if note.pitch.alter != written.keys[one.measure].altered(note.pitch.letter)
    ]
    return _many(found, "note outside the key")


def _signature(written: Written, _: Hand) -> _Amount:
    most = max((abs(key.fifths) for key in written.keys), default=0)
    where = next((i for i, key in enumerate(written.keys) if abs(key.fifths) == most), None)
    return _Amount(most, where if most else None, _counted(most, "sign of the key signature"))


# --- rhythm ---------------------------------------------------------------------------------------


def _values(written: Written, _: Hand) -> _Amount:
    best: tuple[float, int, str] = (0.0, 0, "")
    for one in written.values:
        name = str(one.value)
        if one.is_rest or not one.value.type:
            continue
        hard = _OTHER_VALUE if one.value.is_tuplet else _VALUES.get(name, _OTHER_VALUE)
        if hard > best[0]:
            best = (hard, one.stroke.measure, name)
    return _Amount(best[0], best[1] if best[0] else None, f"the hardest value is {best[2]}")


def _off_beats(written: Written, _: Hand) -> _Amount:
    found: list[WrittenStroke] = []
    for one in written.strokes:
        if not one.grace and one.beat.denominator != 1:
            # One that is held over the next beat counts twice.
            found += [one] * (2 if written.off_beat(one) == 3 else 1)
    return _many(found, "note off the beat (held over a beat: twice)")


def _ties(written: Written, _: Hand) -> _Amount:
    return _many([where for where, _ in written.ties], "tie")


def _tuplets(written: Written, _: Hand) -> _Amount:
    found = [one.stroke for one in written.values if one.value.is_tuplet and not one.is_rest]
    return _many(found, "note in tuplets")


def _density(written: Written, _: Hand) -> _Amount:
    if not written.rates:
        return _Amount(0.0)
    where = max(range(len(written.rates)), key=lambda index: written.rates[index])
    rate = written.rates[where]
    return _Amount(rate, where if rate else None, f"{rate:.1f} onsets a second")


# --- left hand ------------------------------------------------------------------------------------


def _stretch(written: Written, hand: Hand) -> _Amount:
    return _most(
        written,
        lambda one: stretch_share(written, tuple(written.held(one)), hand),
        lambda one: f"{_wide_mm(written, one):.0f} mm between the outer fingers",
    )


def _wide_mm(written: Written, stroke: WrittenStroke) -> float:
    frets = [note.fret for note in written.held(stroke) if note.fret]
    return written.between_mm(min(frets), max(frets)) if frets else 0.0


def _moves(written: Written) -> Iterator[tuple[WrittenStroke, float, float]]:
    """Yield where the hand travels: the stroke, mm, and seconds since the last stopped note."""
    before: tuple[WrittenStroke, int] | None = None
    for stroke in written.strokes:
        position = written.position(stroke)
        if position is None:
            continue
        if before is not None and position != before[1]:
            yield (
                stroke,
                written.between_mm(before[1], position),
                float(stroke.seconds - before[0].seconds),
            )
        before = stroke, position


def _travel(written: Written, _: Hand) -> _Amount:
    ways: dict[int, float] = {}
    for stroke, way, _seconds in _moves(written):
        ways[stroke.measure] = ways.get(stroke.measure, 0.0) + way
    if not ways:
        return _Amount(0.0)
    where = max(ways, key=lambda index: (ways[index], -index))
    return _Amount(sum(ways.values()), where, f"{sum(ways.values()):.0f} mm along the neck in all")


def _shifts(written: Written, _: Hand) -> _Amount:
    """Return the travel of a formed hand; along a single string a finger leads the hand.

    In a measure of single notes on one string a way counts for less: nothing is held, nothing has
    to be formed anew, and the string is the guide (common practice: pieces on one string come in a
    first year, shifts of the hand in a third).
    """
    strings: dict[int, set[int]] = {}
    formed: set[int] = set()
    for stroke in written.strokes:
        strings.setdefault(stroke.measure, set()).update(note.string for note in stroke.notes)
        if len(stroke.notes) > 1:
            formed.add(stroke.measure)
    ways: dict[int, float] = {}
    for stroke, way, _seconds in _moves(written):
        where = stroke.measure
        led = len(strings[where]) == 1 and where not in formed
        ways[where] = ways.get(where, 0.0) + way * (_LED if led else 1.0)
    if not ways:
        return _Amount(0.0)
    most = max(ways, key=lambda index: (ways[index], -index))
    return _Amount(sum(ways.values()), most, f"{ways[most]:.0f} mm of shifts in this measure")


def _shift_speed(written: Written, _: Hand) -> _Amount:
    fastest = max(
        (
            (way / seconds, stroke.measure, f"{way:.0f} mm in {seconds:.2f} s")
            for stroke, way, seconds in _moves(written)
            if seconds > 0
        ),
        default=(0.0, 0, ""),
    )
    return _Amount(fastest[0], fastest[1] if fastest[0] else None, fastest[2])


def _barres(written: Written, _: Hand) -> _Amount:
    return _many([one for one in written.strokes if is_barred(one.notes)], "barre")


def _fingers(written: Written, _: Hand) -> _Amount:
    used = {n.finger for one in written.strokes for n in one.notes if 1 <= n.finger <= 4}
    return _Amount(len(used), None, _counted(len(used), "finger in use"))


def _chord_change(written: Written, _: Hand) -> _Amount:
    chords = [one for one in written.strokes if len(one.notes) > 1 and not one.grace]
    shortest = shortest_change(chords)
    if shortest is None:
        return _Amount(0.0)
    # A change in a quarter of a second is as hard as it gets here.
    return _Amount(min(1.0, 0.25 / max(shortest, 0.01)), None, f"{shortest:.2f} s for a new chord")


def _chord_ease(written: Written, hand: Hand) -> _Amount:
    criteria = rubric(written, hand)
    if not criteria:
        return _Amount(0.0)
    worst = max(criteria, key=lambda one: one.points)
    return _Amount(weighted(criteria), None, f"published rubric; most of it {worst.name}")


# --- right hand, and the whole --------------------------------------------------------------------


def _crossings(written: Written, _: Hand) -> _Amount:
    ways: dict[int, int] = {}
    before: int | None = None
    for one in written.strokes:
        strings = [note.string for note in one.notes if note.string]
        if not strings:
            continue
        if before is not None:
            ways[one.measure] = ways.get(one.measure, 0) + abs(max(strings) - before)
        before = max(strings)
    total = sum(ways.values())
    if not total:
        return _Amount(0.0)
    where = max(ways, key=lambda index: (ways[index], -index))
    return _Amount(total, where, f"{total} strings crossed, {ways[where]} of them here")


def _apart(written: Written, _: Hand) -> _Amount:
    rows: dict[int, set[int]] = {}
    for one in written.strokes:
        rows.setdefault(one.measure, set()).update(n.string for n in one.notes if n.string)
    best = max(
        ((max(row) - min(row), -index) for index, row in rows.items() if row), default=(0, 0)
    )
    where = -best[1] if best[0] else None
    return _Amount(best[0], where, f"strings {best[0]} apart in one measure")


def _at_once(written: Written, _: Hand) -> _Amount:
    return _most(
        written,
        lambda one: len(one.notes) - 1.0,
        lambda one: f"{len(one.notes)} notes at once",
    )


def _length(written: Written, _: Hand) -> _Amount:
    return _Amount(len(written.numbers), None, _counted(len(written.numbers), "measure"))


def _newness(written: Written, _: Hand) -> _Amount:
    rows: dict[int, list[tuple[object, ...]]] = {}
    for one in written.strokes:
        place = (one.tick, tuple(note.pitch for note in one.notes))
        rows.setdefault(one.measure, []).append(place)
    different = len({tuple(row) for row in rows.values()})
    return _Amount(different, None, f"{different} different measures of {len(rows)}")


_Measuring = Callable[[Written, Hand], _Amount]
# Group, name, unit, scale, measurement: a scale above 0 is the most; below 0 it is minus the
# amount that counts as half.
FACTORS: tuple[tuple[str, str, str, float, _Measuring], ...] = (
    ("reading", "notes", "different notes", 24, _pitches),
    ("reading", "range", "semitones", 48, _range),
    ("reading", "ledger lines", "lines", 5, _ledgers),
    ("reading", "accidentals", "notes", -24, _accidentals),
    ("reading", "key", "signs", 7, _signature),
    ("rhythm", "values", "0 to 1", 1, _values),
    ("rhythm", "off-beats", "notes", -64, _off_beats),
    ("rhythm", "ties", "ties", -6, _ties),
    ("rhythm", "tuplets", "notes", -9, _tuplets),
    ("rhythm", "density", "onsets/s", 12, _density),
    ("left hand", "stretch", "of the reach", 1, _stretch),
    ("left hand", "travel", "mm", -2000, _travel),
    ("left hand", "shifts", "mm", -2000, _shifts),
    ("left hand", "shift speed", "mm/s", 1500, _shift_speed),
    ("left hand", "barres", "barres", -4, _barres),
    ("left hand", "fingers", "fingers", 4, _fingers),
    ("left hand", "chord change", "0 to 1", 1, _chord_change),
    ("left hand", "chord ease", "0 to 1", 1, _chord_ease),
    ("right hand", "crossings", "strings", -160, _crossings),
    ("right hand", "strings apart", "strings", 5, _apart),
    ("right hand", "at once", "notes", 5, _at_once),
    ("whole", "length", "measures", -32, _length),
    ("whole", "new measures", "measures", -24, _newness),
)
# A note more may make two measures alike, which is easier to learn; chords of the rubric likewise.
NOT_MONOTONE = frozenset({"new measures", "chord ease"})
