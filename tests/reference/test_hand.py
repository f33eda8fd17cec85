"""The hand's limits against the distances of the trade.

Source of the distances: equal temperament on a 650 mm scale, finger 1 to finger 4: 97.6 mm in
position I, 87.0 in III, 77.5 in V, 69.0 in VII; frets 1 to 5 are 126.6 mm (frets 1 to 6, 153.9 mm,
are computed here). The working rule for a young child ("three frets, no five-fret reach") is
common practice and not validated.
"""

from __future__ import annotations

import pytest

from variants.guitar.hand import Hand
from variants.guitar.neck import span_mm


@pytest.mark.parametrize(
    ("low", "high", "mm", "small", "medium"),
    [
        (1, 4, 97.6, False, True),
        (3, 6, 87.0, True, True),
        (5, 8, 77.5, True, True),
        (7, 10, 69.0, True, True),
        (1, 5, 126.6, False, True),
        (1, 3, 66.9, True, True),
        (1, 6, 153.9, False, False),
    ],
)
def test_who_reaches_how_far(low: int, high: int, mm: float, small: bool, medium: bool) -> None:
    """Index to little finger: what a small and a medium hand reach on a full-size neck."""
    distance = span_mm(low, high, scale_length_mm=650.0)
    assert distance == pytest.approx(mm, abs=0.1)
    assert (distance <= Hand.of("small").limit_mm(1, 4)) is small
    assert (distance <= Hand.of("medium").limit_mm(1, 4)) is medium


def test_a_small_hand_on_a_small_guitar_reaches_like_a_grown_one() -> None:
    """On a quarter-size neck (484 mm) four frets in position I are 72.7 mm."""
    distance = span_mm(1, 4, scale_length_mm=484.0)
    assert distance == pytest.approx(72.7, abs=0.1)
    assert distance <= Hand.of("small").limit_mm(1, 4)
