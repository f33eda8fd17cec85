"""Equal measures are fingered alike: which measures are equal, and how one speaks for all."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

from variants.fingering.answer import FingeredNote
from variants.fingering.passage import Passage, PassageNote

_Shape = tuple[tuple[object, ...], ...]


def equal_measures(passage: Passage) -> list[tuple[tuple[int, ...], ...]]:
    """Return groups of two or more equal measures, each measure as the indices of its notes.

    Measures are equal when the same notes begin at the same times in the same voices. A note
    tied over from the measure before belongs to that one and is left out.
    """
    members: dict[int, list[int]] = {}
    for index, note in enumerate(passage.notes):
        if not note.tied_from:
            members.setdefault(note.measure, []).append(index)
    groups: dict[_Shape, list[tuple[int, ...]]] = {}
    for measure in sorted(members):
        rows = sorted(members[measure], key=lambda index: _key(passage.notes[index]))
        start = _start(passage, measure, rows)
        shape = tuple(
            (passage.notes[index].onset - start, *_shape(passage.notes[index])) for index in rows
        )
        groups.setdefault(shape, []).append(tuple(rows))
    return [tuple(group) for group in groups.values() if len(group) > 1]


def _start(passage: Passage, measure: int, rows: list[int]) -> int:
    if measure < len(passage.measure_starts):
        return passage.measure_starts[measure]
    return passage.notes[rows[0]].onset


def _key(note: PassageNote) -> tuple[object, ...]:
    return (note.onset, note.grace, note.midi, note.voice)


def _shape(note: PassageNote) -> tuple[object, ...]:
    return (
        note.duration,
        note.midi,
        note.voice,
        note.slurred_from,
        note.grace,
        note.string,
        note.fret,
        note.finger,
        note.position,
        note.barre,
        note.not_at,
    )


def settled(passage: Passage, first: tuple[FingeredNote, ...]) -> Passage | None:
    """Return the passage with equal measures held to one fingering, the commonest in ``first``.

    Of equally common ones the earliest counts. ``None`` when the measures are alike already.
    """
    notes = list(passage.notes)
    changed = False
    for group in equal_measures(passage):
        found = [tuple(first[index] for index in rows) for rows in group]
        if len(set(found)) == 1:
            continue
        changed = True
        chosen = Counter(found).most_common(1)[0][0]
        for rows in group:
            for index, place in zip(rows, chosen, strict=True):
                notes[index] = replace(
                    notes[index], string=place.string, fret=place.fret, finger=place.finger
                )
    return replace(passage, notes=tuple(notes)) if changed else None
