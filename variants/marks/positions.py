"""Position and barre marks.

A Roman numeral at a shift names the fret of the first finger (classicalguitarshed.com). A barre
is ``B`` with its fret, ``½B`` when it holds fewer than five strings, with a dashed bracket as
long as it is held (common practice). The open position is named only where the hand comes back
to it.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence

from variants.fingering import Barre, roman
from variants.fingering.score import HandPlace
from variants.marks.directions import Placed, with_directions, without_directions
from variants.marks.marking import MarkJob
from variants.score import Direction, Part

POSITION = "position"
BARRE = "barre"
# A finger that lies over two strings needs no label: the two equal fingerings show it.
_LEAST_STRINGS = 3
_FULL_STRINGS = 5
# A hand leans by a fret for a moment; from the third note there it stands there, unless it comes
# back within a measure or so. A finger reaches two frets out of its position and back. Our own,
# judged by looking at engraved pages.
_LEAST_MOMENTS = 3
_MOST_BEFORE_BACK = 8
_WIDEST_REACH = 2


def put_positions(job: MarkJob) -> Part:
    """Return the part with a mark at every shift and over every barre."""
    return with_directions(job.part, _placed(job.hands))


def mark_positions(part: Part, hands: Sequence[HandPlace]) -> Part:
    """Return the part with a mark at every shift and over every barre.

    Args:
        part: The part; marks of ours that it has already are replaced.
        hands: The hand along time.
    """
    clean = without_directions(part, (POSITION, BARRE))
    return with_directions(clean, _placed(hands))


def _placed(hands: Sequence[HandPlace]) -> list[Placed]:
    named = [run for run in _held(hands) if _widest(run) >= _LEAST_STRINGS]
    barred = {(place.measure, place.tick) for run in named for place in run}
    return [*_positions(hands, barred), *(mark for run in named for mark in _barre(run))]


def _positions(hands: Sequence[HandPlace], barred: Collection[tuple[int, int]]) -> list[Placed]:
    """Return a numeral for every shift, but for those that a barre names.

    A hand that reaches out by a fret or two for a note and comes back has not shifted, and neither
    has one that leans by a fret for a moment or two.
    """
    marked: list[Placed] = []
    now = 1
    runs = _standing(hands)
    for index, run in enumerate(runs):
        position = run[0].hand.position
        following = runs[index + 1][0].hand.position if index + 1 < len(runs) else position
        is_named = (run[0].measure, run[0].tick) in barred
        reaches = position == now or _is_reach(position - now, len(run), following - now)
        if reaches and not is_named:
            continue
        now = position
        if not is_named:
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
        return moments < (_LEAST_MOMENTS if after else _MOST_BEFORE_BACK)
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


def _barre(run: list[HandPlace]) -> list[Placed]:
    """Return the label of a barre, and its bracket if it is held for more than a moment."""
    first, last = run[0], run[-1]
    if first.hand.barre is None:
        return []
    part = "" if _widest(run) >= _FULL_STRINGS else "½"
    label = _words(first.tick, f"{part}B{roman(first.hand.barre.fret)}", BARRE)
    if last is first:
        return [(first.measure, label)]
    return [(first.measure, label), _bracket(first, "start"), _bracket(last, "stop")]


def _widest(run: list[HandPlace]) -> int:
    """Return over how many strings a barre lies at most while it is held."""
    barres = (place.hand.barre for place in run)
    return max(one.from_string - one.to_string + 1 for one in barres if one is not None)


def _held(hands: Sequence[HandPlace]) -> list[list[HandPlace]]:
    """Return the runs of moments through which one barre is held, however many strings sound.

    A broken chord under a barre sounds on two strings here and on six there: one barre.
    """
    runs: list[list[HandPlace]] = []
    before: Barre | None = None
    for place in hands:
        barre = place.hand.barre
        if barre is None and before is not None and not _is_stopped(place):
            continue
        if barre is not None:
            if before is not None and (before.fret, before.finger) == (barre.fret, barre.finger):
                runs[-1].append(place)
            else:
                runs.append([place])
        before = barre
    return runs


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
