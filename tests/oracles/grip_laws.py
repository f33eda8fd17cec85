"""The laws of a hand on a neck, stated note by note."""

from __future__ import annotations

from variants.guitar.grip import Reach


def is_legal(notes: tuple[tuple[int, int, int], ...], reach: Reach, *, spans: bool = True) -> bool:
    """Return whether (string, fret, finger) triples keep the laws; the thumb is not judged here.

    Written note by note, apart from the way that `variants.guitar.grip.grips` works, so that each
    can check the other.
    """
    strings = [string for string, _, _ in notes]
    if len(set(strings)) < len(strings):
        return False
    if any((fret == 0) != (finger == 0) for _, fret, finger in notes):
        return False
    stopped = [note for note in notes if note[2]]
    for string, fret, finger in stopped:
        for other, fret2, finger2 in stopped:
            if finger == finger2 and fret != fret2:
                return False
            if finger < finger2 and (fret > fret2 or (fret == fret2 and string < other)):
                return False
            too_far = (
                reach.distance_mm(fret, fret2) > reach.hand.limit_mm(finger, finger2)
                if finger < finger2
                else False
            )
            if spans and too_far:
                return False
            if finger == finger2 and string < other and not reach.barres:
                return False
            if finger == finger2 and any(
                string < between < other and low < fret for between, low, _ in notes
            ):
                return False
    return True
