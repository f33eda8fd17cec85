"""Move a part by one interval: notes, key signatures and chord symbols alike."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from variants.music import Interval, Key, Pitch, pitch, printable
from variants.music.pitch import fifths_of, name_at_fifths
from variants.score import (
    Attributes,
    Change,
    Event,
    Harmony,
    KeySign,
    Measure,
    Note,
    Part,
    map_measure_events,
    notes,
    with_notes,
)
from variants.steps.framework.log import count

# No printed accidental alters by more than two semitones.
MOST_ALTER = 2


@dataclass(slots=True)
class _Losses:
    """What moving one part dropped or could not move."""

    respelled: int = 0
    frames: int = 0
    symbols: int = 0
    keys: int = 0
    wrapped: list[str] = field(default_factory=list)


def move_part(part: Part, interval: Interval, *, step: str) -> tuple[Part, list[Change]]:
    """Return the part moved by an interval, and what that lost.

    Places on the neck and fretting fingers are erased. A part without one pitched note is
    returned as it is.

    Args:
        part: The part.
        interval: By how much every note moves.
        step: Name of the step, for the change log.
    """
    if all(note.pitch is None for note in notes(part)) and any(True for _ in notes(part)):
        return part, []
    losses = _Losses()
    # By identity: pitches are shared, and hashing each note's pitch would cost more than moving it.
    moved: dict[int, Pitch] = {}
    renamed: set[int] = set()

    def of_note(note: Note) -> Note:
        old = note.pitch
        if old is None:
            return note
        new = moved.get(id(old))
        if new is None:
            wanted = old + interval
            new = moved[id(old)] = respelled(wanted)
            if new is not wanted:
                renamed.add(id(old))
        if renamed and id(old) in renamed:
            losses.respelled += 1
        return _with_pitch(note, new)

    def of_event(event: Event) -> Event:
        return with_notes(event, tuple(map(of_note, event.notes))) if event.notes else event

    measures = tuple(
        _move_signs(map_measure_events(measure, of_event), interval, losses)
        for measure in part.measures
    )
    return replace(part, measures=measures), _lines(losses, part, step)


def _with_pitch(note: Note, new: Pitch) -> Note:
    """Return the note at another pitch, without place and finger. `replace` is far slower."""
    return Note(
        new,
        note.tie_stop,
        note.tie_start,
        None,
        "",
        note.pluck,
        note.accidental,
        note.staff,
        note.marks,
        note.extras,
    )


def respelled(wanted: Pitch) -> Pitch:
    """Return a pitch as it can be printed: with no more than a double sharp or flat.

    >>> str(respelled(Pitch("F", 3, 4))), str(respelled(Pitch("B", 2, 4)))
    ('G#4', 'B##4')
    """
    if -MOST_ALTER <= wanted.alter <= MOST_ALTER:
        return wanted
    sharp = wanted.alter > 0
    found = wanted
    while not -1 <= found.alter <= 1:
        # One letter nearer, the same height.
        found = found + Interval(1 if sharp else -1, 0)
        if (found.alter > 0) != sharp:
            break
    return pitch(found.letter, found.alter, found.octave)


def _move_signs(measure: Measure, interval: Interval, losses: _Losses) -> Measure:
    if not measure.attributes and not measure.harmonies:
        return measure
    return replace(
        measure,
        attributes=tuple(_attributes(one, interval, losses) for one in measure.attributes),
        harmonies=tuple(_harmony(one, interval, losses) for one in measure.harmonies),
    )


def _attributes(one: Attributes, interval: Interval, losses: _Losses) -> Attributes:
    if not one.keys:
        return one
    return replace(one, keys=tuple(_key_sign(sign, interval, losses) for sign in one.keys))


def _key_sign(sign: KeySign, interval: Interval, losses: _Losses) -> KeySign:
    if sign.key is None:
        losses.keys += 1
        return sign
    key = sign.key.moved(interval)
    fifths = printable(key.fifths)
    if fifths != key.fifths:
        losses.wrapped.append(f"{key} as {Key(fifths, key.mode)}")
    return replace(sign, key=Key(fifths, key.mode))


def _harmony(one: Harmony, interval: Interval, losses: _Losses) -> Harmony:
    if one.frame:
        losses.frames += 1
    if one.root is None:
        # A root or bass in the XML of a symbol that the model does not read stays behind.
        losses.symbols += "root-step" in one.xml or "bass-step" in one.xml
        return replace(one, frame="") if one.frame else one
    return replace(
        one,
        root=_moved_name(one.root, interval),
        bass=_moved_name(one.bass, interval) if one.bass else None,
        frame="",
    )


def _moved_name(name: tuple[str, int], interval: Interval) -> tuple[str, int]:
    letter, alter = name_at_fifths(fifths_of(*name) + interval.fifths)
    shown = respelled(pitch(letter, alter, 4))
    return shown.letter, int(shown.alter)


def _lines(losses: _Losses, part: Part, step: str) -> list[Change]:
    lines = []
    if losses.respelled:
        lines.append(
            f"{count(losses.respelled, 'note')} would need more than a double sharp or flat"
            " and got another name"
        )
    if losses.wrapped:
        lines.append(f"key signatures of more than seven signs: {', '.join(losses.wrapped)}")
    if losses.frames:
        lines.append(f"{count(losses.frames, 'chord diagram')} dropped: the chords have moved")
    if losses.symbols:
        lines.append(
            f"{count(losses.symbols, 'chord symbol')} could not be read and stayed as before"
        )
    if losses.keys:
        lines.append(
            f"{count(losses.keys, 'key signature')} off the circle of fifths stayed as before"
        )
    return [Change(line, step, part=part.id) for line in lines]
