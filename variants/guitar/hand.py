"""The fretting hand: how far apart two fingers can stand, in millimetres.

The limits of the medium hand enclose the shapes that are published for adults: over 1,659 chord
shapes on a 650 mm scale the widest distances between two fingers are 67 mm (1 to 2), 98 mm (1 to
3), 98 mm (1 to 4), 63 mm (2 to 3), 87 mm (2 to 4) and 57 mm (3 to 4), a handful of shapes aside.
The small hand follows the working rule "three frets, no five-fret reach" for a young child on a
full-size neck. Neither is validated against measured hands; explicit numbers take their place.
"""

from __future__ import annotations

from dataclasses import dataclass

from variants.errors import UsageError

_PAIRS = ((1, 2), (1, 3), (1, 4), (2, 3), (2, 4), (3, 4))
_MEDIUM_MM = (70.0, 98.0, 127.0, 67.0, 98.0, 67.0)
_SCALES = {"small": 0.72, "medium": 1.0, "large": 1.1}
# A reach that a hand can have, from the smallest child to the largest adult; ours, a guard only.
_REACH_MM = (40.0, 250.0)


def parse_hand(text: str) -> str | float:
    """Read a hand: the name of a size, or its reach from first to fourth finger at fret 1 in mm.

    Raises:
        UsageError: It is neither.

    >>> parse_hand("small"), parse_hand("92"), parse_hand("104.5mm")
    ('small', 92.0, 104.5)
    """
    name = text.strip().lower()
    if name in _SCALES:
        return name
    low, high = _REACH_MM
    try:
        reach = float(name.removesuffix("mm"))
    except ValueError:
        reach = 0.0
    if not low <= reach <= high:
        raise UsageError(
            f"{text!r} is no hand",
            way_out=f"use {', '.join(_SCALES)}, or the reach from first to fourth finger "
            f"at fret 1 in mm, {low:g} to {high:g}",
        )
    return reach


@dataclass(frozen=True, slots=True)
class Hand:
    """The widest distance along the neck, in mm, between each two fretting fingers.

    Args:
        name: ``small``, ``medium``, ``large`` or ``custom``.
        span_mm: Limits for the finger pairs 1-2, 1-3, 1-4, 2-3, 2-4, 3-4.

    Raises:
        UsageError: There are not six positive numbers.

    >>> Hand.of("medium").limit_mm(1, 4)
    127.0
    """

    name: str
    span_mm: tuple[float, float, float, float, float, float]

    def __post_init__(self) -> None:
        if len(self.span_mm) != len(_PAIRS) or min(self.span_mm) <= 0:
            raise UsageError(
                f"a hand needs six positive spans in mm, not {self.span_mm}",
                way_out="give the spans of the finger pairs 1-2, 1-3, 1-4, 2-3, 2-4, 3-4",
            )

    @classmethod
    def of(cls, size: str | float | tuple[float, ...] | Hand) -> Hand:
        """Return a hand of a named size, of an index-to-little span in mm, or of six spans.

        Raises:
            UsageError: The name is unknown, or the numbers are neither one nor six.
        """
        if isinstance(size, Hand):
            return size
        if isinstance(size, str):
            return cls._named(size)
        if isinstance(size, tuple):
            if len(size) != len(_PAIRS):
                raise UsageError(
                    f"a hand needs six spans in mm, not {len(size)}",
                    way_out="give the spans of the finger pairs 1-2, 1-3, 1-4, 2-3, 2-4, 3-4",
                )
            one, two, three, four, five, six = (float(number) for number in size)
            return cls("custom", (one, two, three, four, five, six))
        return cls._scaled("custom", float(size) / _MEDIUM_MM[2])

    @classmethod
    def _named(cls, size: str) -> Hand:
        if size not in _SCALES:
            raise UsageError(
                f"there is no hand size {size!r}",
                way_out=f"use {', '.join(_SCALES)} or a span in mm",
            )
        return cls._scaled(size, _SCALES[size])

    @classmethod
    def _scaled(cls, name: str, factor: float) -> Hand:
        one, two, three, four, five, six = (round(number * factor, 3) for number in _MEDIUM_MM)
        return cls(name, (one, two, three, four, five, six))

    def limit_mm(self, lower: int, higher: int) -> float:
        """Return the widest distance in mm between two fingers, ``1 <= lower < higher <= 4``."""
        return self.span_mm[_PAIRS.index((lower, higher))]
