"""The last stage of every variant: places, fingers, and the marks that go with them."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, field, replace

from variants.fingering import Settings
from variants.fingering.score import HandPlace, finger_score
from variants.marks import mark_positions, without_marks
from variants.marks.positions import BARRE, POSITION
from variants.score import Note, Part, Score, map_notes, with_parts

FINGERING = "fingering"
POSITIONS = "positions"
# Marks that can be asked for, in the order in which they are listed.
MARKS = (FINGERING, POSITIONS)


@dataclass(frozen=True, slots=True)
class Finished:
    """A score ready to be written.

    Args:
        score: The score.
        hands: For each fingered part by its place in the score, the hand along time.
    """

    score: Score
    hands: dict[int, tuple[HandPlace, ...]] = field(hash=False, default_factory=dict)


def finish(
    score: Score,
    settings: Settings | None = None,
    *,
    marks: Collection[str] = MARKS,
    keep_places: bool = True,
) -> Finished:
    """Finger a score and mark it.

    Args:
        score: The score; parts without an instrument are left alone.
        settings: Hand, limits and wishes.
        marks: ``fingering`` prints finger numbers, ``positions`` positions and barres.
        keep_places: Take the places and fingers that are set as given.

    Raises:
        Unplayable: No hand can play an onset.
        Refusal: A note cannot be stopped at any fret.
    """
    fingered = finger_score(score, settings or Settings(), keep_places=keep_places)
    parts: list[Part] = []
    for index, part in enumerate(fingered.score.parts):
        hands = fingered.hands.get(index)
        if hands is None:
            parts.append(part)
            continue
        bare = without_marks(part, (POSITION, BARRE))
        marked = mark_positions(bare, hands) if POSITIONS in marks else bare
        parts.append(marked if FINGERING in marks else map_notes(marked, _without_finger))
    return Finished(with_parts(fingered.score, parts), fingered.hands)


def _without_finger(note: Note) -> Note:
    return replace(note, finger="") if note.finger else note
