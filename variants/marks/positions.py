"""Position and barre marks.

Common practice: a Roman numeral at a shift names the fret of the first finger; a barre is ``B``
with its fret, ``½B`` when it holds fewer than five strings, with a dashed bracket as long as it
is held. The open position is named only where the hand comes back to it.
"""

from __future__ import annotations

from collections.abc import Sequence

from variants.fingering import Barre, roman
from variants.fingering.score import HandPlace
from variants.marks.directions import Placed, with_directions, without_directions
from variants.marks.marking import Job
from variants.score import Direction, Part

POSITION = "position"
BARRE = "barre"
# A finger that lies over two strings needs no label: the two equal fingerings show it.
_LEAST_STRINGS = 3
_FULL_STRINGS = 5


def put_positions(job: Job) -> Part:
    """Return the part with a mark at every shift and over every barre."""
    return with_directions(job.part, [*_positions(job.hands), *_barres(job.hands)])


def mark_positions(part: Part, hands: Sequence[HandPlace]) -> Part:
    """Return the part with a mark at every shift and over every barre.

    Args:
        part: The part; marks of ours that it has already are replaced.
        hands: The hand along time.
    """
    clean = without_directions(part, (POSITION, BARRE))
    return with_directions(clean, [*_positions(hands), *_barres(hands)])


def _positions(hands: Sequence[HandPlace]) -> list[Placed]:
    marked: list[Placed] = []
    now = 1
    for place in hands:
        hand = place.hand
        stopped = len(hand.notes) > hand.open_strings
        if not stopped or hand.position == now:
            continue
        now = hand.position
        if not _labelled(hand.barre):
            marked.append((place.measure, _words(place.tick, roman(now), POSITION)))
    return marked


def _labelled(barre: Barre | None) -> bool:
    return barre is not None and barre.from_string - barre.to_string + 1 >= _LEAST_STRINGS


def _barres(hands: Sequence[HandPlace]) -> list[Placed]:
    marked: list[Placed] = []
    for run in _held(hands):
        first, last = run[0], run[-1]
        barre = first.hand.barre
        if barre is None:
            continue
        marked.append((first.measure, _words(first.tick, _label(barre), BARRE)))
        if last is not first:
            marked.append(_bracket(first, "start"))
            marked.append(_bracket(last, "stop"))
    return marked


def _held(hands: Sequence[HandPlace]) -> list[list[HandPlace]]:
    """Return the runs of moments through which one labelled barre is held."""
    runs: list[list[HandPlace]] = []
    before: Barre | None = None
    for place in hands:
        barre = place.hand.barre if _labelled(place.hand.barre) else None
        if barre is not None:
            if before is not None and before.fret == barre.fret:
                runs[-1].append(place)
            else:
                runs.append([place])
        before = barre
    return runs


def _label(barre: Barre) -> str:
    strings = barre.from_string - barre.to_string + 1
    return f"{'' if strings >= _FULL_STRINGS else '½'}B{roman(barre.fret)}"


def _words(tick: int, text: str, origin: str) -> Direction:
    xml = f"<direction-type><words>{text}</words></direction-type>"
    return Direction(tick, xml, words=text, placement="above", origin=origin)


def _bracket(place: HandPlace, kind: str) -> Placed:
    # Number 6, so that brackets of the source keep theirs.
    xml = (
        f'<direction-type><bracket line-end="{"down" if kind == "stop" else "none"}" '
        f'line-type="dashed" number="6" type="{kind}"/></direction-type>'
    )
    return place.measure, Direction(place.tick, xml, placement="above", origin=BARRE)
