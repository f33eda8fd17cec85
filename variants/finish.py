"""The last stage of every variant: places, fingers, and the marks that go with them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from variants.fingering import HandPin, Settings
from variants.fingering.score import HandPlace, finger_score
from variants.marks import USUAL, Marking, apply_marks, claimed
from variants.score import NoteKey, Score, with_parts
from variants.steps.places.jumps import without_jumps

# What is printed when nothing is said.
MARKS = tuple(map(str, USUAL))


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
    marks: str | Iterable[Marking | str] = MARKS,
    keep_places: bool = True,
    pins: Mapping[NoteKey, HandPin] | None = None,
) -> Finished:
    """Finger a score and mark it.

    Args:
        score: The score; parts without an instrument get no fingers.
        settings: Hand, limits and wishes.
        marks: The marks to print, or a text for `variants.marks.parse_marks`; all others of ours
            come off. ``none``: places alone, as tab shows them.
        keep_places: Take the places and fingers that are set as given; those that no hand can
            hold are let go, with a line in the change log.
        pins: What is pinned, by the note heads of the first fretted part.

    Raises:
        Unplayable: No hand can play an onset.
        Refusal: A note cannot be stopped at any fret.
        UsageError: The text names no mark.
    """
    fingered = finger_score(
        score, settings or Settings(), keep_places=keep_places, loosen=keep_places, pins=pins
    )
    return Finished(mark_fingered(score, fingered.score, fingered.hands, marks), fingered.hands)


def mark_fingered(
    before: Score,
    after: Score,
    hands: dict[int, tuple[HandPlace, ...]],
    marks: str | Iterable[Marking | str],
) -> Score:
    """Return a fingered score with its marks; fingers that were not there before are ours.

    Args:
        before: The score before it was fingered.
        after: The same score with places and fingers.
        hands: The hand along time for each fingered part.
        marks: The marks, or a text for `variants.marks.parse_marks`.

    Raises:
        UsageError: The text names no mark.
    """
    parts = [claimed(a, b) for a, b in zip(before.parts, after.parts, strict=True)]
    on_strings = without_jumps(with_parts(after, parts), step="finger")
    return apply_marks(on_strings, hands, marks)
