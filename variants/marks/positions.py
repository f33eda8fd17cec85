"""Position and barre marks.

A Roman numeral at a shift names the fret of the first finger (classicalguitarshed.com). A barre
is ``B`` with its fret, ``½B`` when it holds fewer than five strings, with a dashed bracket as
long as it is held (common practice). The open position is named only where the hand comes back
to it.
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
# A hand leans by a fret for a moment; from the third note there it stands there. A finger reaches
# two frets out of its position and back. Our own, judged by looking at engraved pages.
_LEAST_MOMENTS = 3
_WIDEST_REACH = 2


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
    """Return a numeral for every shift.

    A hand that reaches out by a fret or two for a note and comes back has not shifted, and neither
    has one that leans by a fret for a moment.
    """
    marked: list[Placed] = []
    now = 1
    runs = _standing(hands)
    for index, run in enumerate(runs):
        position = run[0].hand.position
        following = runs[index + 1][0].hand.position if index + 1 < len(runs) else position
        barred = _labelled(run[0].hand.barre)
        if not barred and (position == now or _is_reach(position - now, len(run), following - now)):
            continue
        now = position
        if not barred:
            marked.append((run[0].measure, _words(run[0].tick, roman(now), POSITION)))
    return marked


def _is_reach(frets: int, moments: int, after: int) -> bool:
    """Whether standing elsewhere is a reach out of the position rather than a shift.

    Args:
        frets: How far the hand stands from where it was said to be.
        moments: For how many moments it stands there.
        after: How far from there it stands next.
    """
    if abs(frets) == 1:
        return moments < _LEAST_MOMENTS
    return abs(frets) <= _WIDEST_REACH and moments == 1 and abs(after) <= 1


def _standing(hands: Sequence[HandPlace]) -> list[list[HandPlace]]:
    """Return the runs of moments with a finger down and the hand in one position."""
    runs: list[list[HandPlace]] = []
    for place in hands:
        if not _is_stopped(place):
            continue
        if runs and runs[-1][0].hand.position == place.hand.position:
            runs[-1].append(place)
        else:
            runs.append([place])
    return runs


def _is_stopped(place: HandPlace) -> bool:
    return len(place.hand.notes) > place.hand.open_strings


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
        if barre is None and before is not None and not _is_stopped(place):
            continue
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
