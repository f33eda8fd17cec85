"""The independent check: does a score, as it stands, meet a level?

This module shares no counting with the search for a fit: it reads the notes, strings, frets and
fingers that a file has, one limit after the other, so that an error of the search cannot hide.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass

from variants.guitar.hand import Hand
from variants.levels.level import BARRES, OFF_BEATS, TIES, WHOLE_BEATS, Area, Level
from variants.levels.signs import ornament_kinds
from variants.levels.written import Written, WrittenStroke, written_part
from variants.music import Key
from variants.score import Part, Score

# A half barre covers two to five strings (guitardownunder.com).
_HALF_BARRE_STRINGS = 5
# Rounding of distances and rates must not decide.
_SLACK = 1e-6


@dataclass(frozen=True, slots=True)
class Obstacle:
    """What keeps a score from a level.

    Args:
        limit: Name of the limit, as in the level file; ``areas`` for the neck.
        message: What is there, and what is allowed.
        measure: Printed number; empty where it is the whole piece.
        beat: Beat in the measure, empty for none.
        part: Part id.
        why: The reason of the limit, from the level file.
    """

    limit: str
    message: str
    measure: str = ""
    beat: str = ""
    part: str = ""
    why: str = ""

    def __str__(self) -> str:
        place = f"measure {self.measure}" if self.measure else ""
        place += f", beat {self.beat}" if self.beat else ""
        return f"{place}: {self.message}" if place else self.message


_Finding = tuple[str, WrittenStroke | int | None]


def meets(score: Score, level: Level, *, hand: str | float = "medium") -> tuple[Obstacle, ...]:
    """Return what keeps a score from a level; nothing if it meets it.

    Places, fingers and barres are judged as they are written; a note without a place must have one
    in the level's areas. Cue notes are not played and do not count.

    Args:
        score: The score, with its instrument.
        level: The level.
        hand: The pupil's hand, as in `variants.guitar.hand.Hand.of`.

    Raises:
        UsageError: There is no such hand.
    """
    found: list[Obstacle] = []
    for part in score.parts:
        found += _part_obstacles(score, part, level, Hand.of(hand))
    return tuple(found)


def _part_obstacles(score: Score, part: Part, level: Level, hand: Hand) -> Iterator[Obstacle]:
    written = written_part(score, part, tempo=level.practice_tempo)
    for name, find in _CHECKS.items():
        limit = getattr(level.limits, name.replace("-", "_"))
        if limit is None:
            continue
        for message, where in find(written, limit.value):
            yield _obstacle(written, name, message, where, limit.why)
    if level.limits.stretch is not None and part.instrument is not None:
        stretch = level.limits.stretch
        for message, where in _stretches(written, stretch.value, hand):
            yield _obstacle(written, "stretch", message, where, stretch.why)
    if level.areas and part.instrument is not None:
        for message, where in _outside(written, level.areas):
            yield _obstacle(written, "areas", message, where, "")


def _obstacle(
    written: Written, limit: str, message: str, where: WrittenStroke | int | None, why: str
) -> Obstacle:
    measure = beat = ""
    if isinstance(where, WrittenStroke):
        measure, beat = written.numbers[where.measure], written.beat_text(where)
    elif where is not None:
        measure = written.numbers[where]
    return Obstacle(limit, message, measure, beat, written.part_id, why)


# --- what is read ---------------------------------------------------------------------------------


def _at_once(written: Written, most: int) -> Iterator[_Finding]:
    for stroke in written.strokes:
        count = len({note.pitch.semitones for note in stroke.notes})
        if count > most:
            yield f"{count} notes at once, at most {most}", stroke


def _values(written: Written, allowed: tuple[str, ...]) -> Iterator[_Finding]:
    for one in written.values:
        plain = one.value.type and not one.value.is_tuplet
        name = str(one.value)
        if not plain or name in allowed or (one.is_rest and one.is_split_beat):
            continue
        if WHOLE_BEATS in allowed and one.is_whole_beats:
            continue
        article = "an" if name.startswith("eighth") else "a"
        thing = f"{article} {name} rest" if one.is_rest else f"{article} {name}"
        yield f"{thing} is not among the note values", one.stroke


def _off_beats(written: Written, allowed: str) -> Iterator[_Finding]:
    most = OFF_BEATS.index(allowed)
    texts = ("", "after a note on the beat", "where its beat is held or silent", "held over a beat")
    for stroke in written.strokes:
        if stroke.grace:
            continue
        kind = written.off_beat(stroke)
        if kind > most:
            yield f"a note off the beat, {texts[kind]}", stroke


def _ties(written: Written, allowed: str) -> Iterator[_Finding]:
    most = TIES.index(allowed)
    texts = ("", "a tie from beat to beat", "a tie off the beat", "a tie over the barline")
    for where, kind in written.ties:
        if kind > most:
            yield texts[kind], where


def _tuplets(written: Written, allowed: tuple[str, ...]) -> Iterator[_Finding]:
    for one in written.values:
        if one.value.is_tuplet:
            ratio = f"{one.value.actual}:{one.value.normal}"
            if ratio not in allowed:
                yield f"a tuplet of {ratio}", one.stroke


def _ornaments(written: Written, allowed: tuple[str, ...]) -> Iterator[_Finding]:
    for event, stroke in written.ornamented:
        for kind in sorted(ornament_kinds(event) - set(allowed)):
            yield f"an ornament ({kind})", stroke


def _signature(written: Written, most: int) -> Iterator[_Finding]:
    before: Key | None = None
    for index, key in enumerate(written.keys):
        if key != before and abs(key.fifths) > most:
            sign = "sharp" if key.fifths > 0 else "flat"
            count = abs(key.fifths)
            yield f"a signature of {count} {sign}{'s' if count > 1 else ''}, at most {most}", index
        before = key


def _altered(written: Written, most: int) -> Iterator[_Finding]:
    known: dict[str, WrittenStroke] = {}
    for stroke in written.strokes:
        key = written.keys[stroke.measure]
        for note in stroke.notes:
            if note.pitch.alter != key.altered(note.pitch.letter):
                known.setdefault(note.pitch.name, stroke)
    for name, stroke in list(known.items())[most:]:
        yield f"{name}, outside the key: {len(known)} such notes, at most {most}", stroke


def _speed(written: Written, most: float) -> Iterator[_Finding]:
    for index, rate in enumerate(written.rates):
        if rate > most + _SLACK:
            yield f"{rate:.1f} notes a second, at most {most:g}", index


def _measures(written: Written, most: int) -> Iterator[_Finding]:
    count = len(written.numbers) - written.has_pickup
    if count > most:
        yield f"{count} measures, at most {most}", None


# --- what the hand does ---------------------------------------------------------------------------


def _shifts(written: Written, most: float) -> Iterator[_Finding]:
    before: tuple[WrittenStroke, int] | None = None
    for stroke in written.strokes:
        position = written.position(stroke)
        if position is None:
            continue
        if before is not None:
            seconds = float(stroke.seconds - before[0].seconds)
            way = written.between_mm(before[1], position)
            if seconds > 0 and way / seconds > most + _SLACK:
                text = f"the hand travels {way:.0f} mm in {seconds:.2f} s"
                yield f"{text}, {way / seconds:.0f} mm a second, at most {most:.0f}", stroke
        if before is None or stroke.seconds > before[0].seconds:
            before = stroke, position


def _stretches(written: Written, share: float, hand: Hand) -> Iterator[_Finding]:
    for stroke in written.strokes:
        stopped = sorted(
            {(n.finger, n.fret) for n in written.held(stroke) if 1 <= n.finger <= 4 and n.fret}
        )
        for low, low_fret in stopped:
            for high, high_fret in stopped:
                if low >= high:
                    continue
                way = written.between_mm(low_fret, high_fret)
                most = share * hand.limit_mm(low, high)
                if way > most + _SLACK:
                    yield (
                        f"fingers {low} and {high} are {way:.0f} mm apart, at most {most:.0f}",
                        (stroke),
                    )


def _barres(written: Written, allowed: str) -> Iterator[_Finding]:
    most = BARRES.index(allowed)
    for stroke in written.strokes:
        strings: dict[tuple[int, int], set[int]] = {}
        for note in written.held(stroke):
            if 1 <= note.finger <= 4 and note.fret:
                strings.setdefault((note.finger, note.fret), set()).add(note.string)
        for held in strings.values():
            if len(held) > 1:
                wide = max(held) - min(held) + 1
                kind = 1 if wide <= _HALF_BARRE_STRINGS else 2
                if kind > most:
                    yield f"a barre over {wide} strings", stroke


def _fingers(written: Written, allowed: tuple[int, ...]) -> Iterator[_Finding]:
    for stroke in written.strokes:
        for note in stroke.notes:
            if 1 <= note.finger <= 4 and note.finger not in allowed:
                yield f"finger {note.finger}", stroke


def _outside(written: Written, areas: Iterable[Area]) -> list[_Finding]:
    """Return the notes outside the area that holds most of the piece; none if one holds it all."""
    best: list[_Finding] | None = None
    for area in areas:
        for strings in [(one,) for one in area.strings] if area.one_string else [area.strings]:
            chosen = area.model_copy(update={"strings": strings, "one_string": False})
            found = list(_outside_one(written, chosen))
            if not found:
                return []
            if best is None or len(found) < len(best):
                best = found
    return best or []


def _outside_one(written: Written, area: Area) -> Iterator[_Finding]:
    for stroke in written.strokes:
        for note in stroke.notes:
            if note.string:
                if not area.holds(note.string, note.fret):
                    where = f"string {note.string} fret {note.fret}"
                    yield f"{note.pitch} on {where} is outside {area}", stroke
            elif not any(
                area.holds(place.string, place.fret) for place in written.places(note.pitch.midi)
            ):
                yield f"{note.pitch} has no place on {area}", stroke


_Check = Callable[..., Iterable[_Finding]]
_CHECKS: dict[str, _Check] = {
    "notes-at-once": _at_once,
    "note-values": _values,
    "off-beats": _off_beats,
    "ties": _ties,
    "tuplets": _tuplets,
    "ornaments": _ornaments,
    "signature": _signature,
    "altered": _altered,
    "speed": _speed,
    "measures": _measures,
    "shift": _shifts,
    "barres": _barres,
    "fingers": _fingers,
}
