"""Other ways to play a piece on the neck, each as a proven variant."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING, TypeVar

from variants.contract import TIMES, Promise
from variants.errors import Refusal, UsageError
from variants.fingering import Fingered, Passage, UnplayableOnset, alternatives, ways
from variants.fingering.score import apply_answer, asked_of, hand_places
from variants.finish import Finished, mark_fingered
from variants.score import NoteKey, Part, Score, notes, place_text, with_changes, with_parts
from variants.survey import positions_text
from variants.variant import Variant, Wishes, make_ready, pinned, proven

if TYPE_CHECKING:
    from variants.fingering.every_way import Way

MOST_ALTERNATIVES = 50
_KEPT = frozenset({Promise.SOUNDING_PITCHES, *TIMES})
_Answer = TypeVar("_Answer")


@dataclass(frozen=True, slots=True, kw_only=True)
class Effort:
    """What a fingering asks of the hand.

    Args:
        positions: Where the hand stands, as players write it.
        strings: Strings that sound, string 1 first.
        open_strings: Open notes.
        barres: Moments at which a finger holds several strings.
        shifts: How often the position changes.
        stretch_mm: Widest stretch along the neck.
        travel_mm: Travel of the hand in all.
        cost: Cost under the model; lower is better, comparable within one piece only.
    """

    positions: str
    strings: tuple[int, ...]
    open_strings: int
    barres: int
    shifts: int
    stretch_mm: float
    travel_mm: float
    cost: float


def effort_of(variant: Variant) -> Effort:
    """Return what the fingering of a variant asks of the hand."""
    hands = [place.hand for places in variant.hands.values() for place in places]
    stood = [hand.position for hand in hands if len(hand.notes) > hand.open_strings]
    heads = [note for index in variant.hands for note in notes(variant.score.parts[index])]
    return Effort(
        positions=positions_text(hands),
        strings=tuple(sorted({note.place.string for note in heads if note.place})),
        open_strings=sum(hand.open_strings for hand in hands),
        barres=sum(hand.barre is not None for hand in hands),
        shifts=sum(one != other for one, other in pairwise(stood)),
        stretch_mm=max((hand.stretch_mm for hand in hands), default=0.0),
        travel_mm=round(sum(hand.travel_mm for hand in hands), 1),
        cost=round(sum(hand.cost for hand in hands), 2),
    )


@dataclass(frozen=True, slots=True)
class _Stand:
    """The one part that is to be played, with its passage.

    Args:
        score: The score, ready to be fingered.
        index: Place of the part in it.
        part: The part.
        passage: Its notes as the engine takes them.
        heads: What each note of the passage stands for.
    """

    score: Score
    index: int
    part: Part
    passage: Passage
    heads: list[tuple[NoteKey, ...]]

    def asked(self, ask: Callable[[Passage], tuple[_Answer, ...]]) -> tuple[_Answer, ...]:
        """Return what the engine answers; its refusal names the beat as the metre counts it."""
        try:
            return ask(self.passage)
        except UnplayableOnset as error:
            tick = error.onset - self.passage.measure_starts[error.measure]
            place = place_text(self.score, self.part, error.measure, tick)
            raise Refusal(error.cause, place=place, way_out=error.way_out) from None

    def variant(self, answer: Fingered, wishes: Wishes) -> Variant:
        """Return the score played as an answer says."""
        part = apply_answer(self.part, answer, self.heads)
        parts = list(self.score.parts)
        parts[self.index] = part
        hands = {self.index: hand_places(answer, self.passage)}
        marked = mark_fingered(self.score, with_parts(self.score, parts), hands, wishes.marks)
        return Variant(
            score=proven(self.score, Finished(marked, hands)),
            source=self.score,
            steps=(),
            kept=_KEPT,
            interval=None,
            hands=hands,
        )


def best_fingerings(score: Score, wishes: Wishes, count: int) -> tuple[Variant, ...]:
    """Return the best fingerings of a score as read, best first; there may be fewer.

    Args:
        score: As read.
        wishes: Which part, its strings, the hand.
        count: How many, 1 to `MOST_ALTERNATIVES`.

    Raises:
        UsageError: The count is out of range, or the part is not clear.
        Refusal: No hand can play it.
    """
    if not 1 <= count <= MOST_ALTERNATIVES:
        raise UsageError(
            f"{count} alternatives", way_out=f"ask for 1 to {MOST_ALTERNATIVES} of them"
        )
    stand = _stand(score, wishes)
    found = stand.asked(lambda passage: alternatives(passage, wishes.settings, count=count))
    made = [stand.variant(answer, wishes) for answer in found]
    return tuple(one for one, is_new in zip(made, _new_pages(made), strict=True) if is_new)


def ways_to_play(score: Score, wishes: Wishes) -> tuple[tuple[Way, Variant], ...]:
    """Return every really different way to play a score as read, best first.

    Raises:
        UsageError: The part is not clear.
        Refusal: No hand can play it.
    """
    # What the file has is one of the ways, not a limit to them.
    stand = _stand(score, replace(wishes, fingering="fill"))
    found = stand.asked(lambda passage: ways(passage, wishes.settings))
    pages = [(way, stand.variant(way.fingered, wishes)) for way in found]
    return tuple(
        row for row, is_new in zip(pages, _new_pages(v for _, v in pages), strict=True) if is_new
    )


def _new_pages(variants: Iterable[Variant]) -> list[bool]:
    """Return for each variant whether its page is another than those before it.

    Hands can differ in what nobody prints: where an idle hand waits, the finger of a held note.
    """
    seen: set[tuple[Part, ...]] = set()
    found = []
    for variant in variants:
        found.append(variant.score.parts not in seen)
        seen.add(variant.score.parts)
    return found


def _stand(score: Score, wishes: Wishes) -> _Stand:
    ready = make_ready(score, wishes)
    keeps = wishes.fingering == "keep"
    fretted = [index for index, part in enumerate(ready.parts) if part.instrument is not None]
    if len(fretted) != 1:
        raise UsageError(
            f"{len(fretted) or 'none'} of the parts are for guitar, and one is needed",
            way_out="choose it with --part",
        )
    part = ready.parts[fretted[0]]
    pins, lost = pinned(ready, wishes)
    (passage, heads), changes = asked_of(ready, part, wishes.settings, keep_places=keeps, pins=pins)
    if not passage.notes:
        raise Refusal("there are no notes to play", way_out="choose another part with --part")
    return _Stand(with_changes(ready, [*lost, *changes]), fretted[0], part, passage, heads)
