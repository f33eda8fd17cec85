"""The hand in millimetres."""

from __future__ import annotations

import pytest

from variants.errors import UsageError
from variants.guitar.hand import Hand


def test_three_sizes_grow() -> None:
    """A small hand reaches less than a medium one, and that less than a large one."""
    spans = [Hand.of(size).limit_mm(1, 4) for size in ("small", "medium", "large")]
    assert spans == sorted(spans)
    assert len(set(spans)) == 3


def test_wider_pairs_reach_further() -> None:
    """Fingers that lie further apart reach further, in each hand."""
    hand = Hand.of("medium")
    assert hand.limit_mm(1, 2) < hand.limit_mm(1, 3) < hand.limit_mm(1, 4)
    assert hand.limit_mm(2, 3) < hand.limit_mm(2, 4)


def test_a_number_scales_the_whole_hand() -> None:
    """One number is the span from index to little finger; the others follow."""
    hand = Hand.of(100.0)
    assert hand.limit_mm(1, 4) == pytest.approx(100.0)
    assert hand.limit_mm(1, 2) == pytest.approx(100.0 * 70 / 127, abs=0.01)


def test_six_numbers_are_taken_as_they_are() -> None:
    """Six numbers are the spans of the six pairs."""
    spans = (60.0, 90.0, 110.0, 55.0, 80.0, 50.0)
    hand = Hand.of(spans)
    assert hand.span_mm == spans
    assert Hand.of(hand) is hand


@pytest.mark.parametrize("wrong", ["huge", (1.0, 2.0), -5.0])
def test_a_wrong_hand_is_refused(wrong: str | tuple[float, ...] | float) -> None:
    """An unknown name, too few numbers and a negative span are one-line errors."""
    with pytest.raises(UsageError, match="hand"):
        Hand.of(wrong)
