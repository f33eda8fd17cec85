"""Metre: beats, their groups, and how strong each moment of a measure is."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

# How uneven numbers of short notes are grouped; others in twos with a three at the end. Common
# practice, as they are beamed.
_UNEVEN = {5: (3, 2), 7: (2, 2, 3)}
# What is said after the number of a beat that divides in three, for each of its sixths: the
# counting syllables ``1 ta & ta a ta``, with the eighth that a sixteenth follows.
_SIXTHS = ("", "ta", "&", "& ta", "a", "a ta")


@dataclass(frozen=True, slots=True)
class Pulse:
    """One beat of a measure.

    Args:
        number: Counted from 1.
        start: Quarters from the start of the full measure.
        length: Quarters.
        threefold: Whether it divides in three.
    """

    number: int
    start: Fraction
    length: Fraction
    threefold: bool = False


@dataclass(frozen=True, slots=True)
class Metre:
    """A time signature.

    Args:
        beats: Upper numbers as printed, one for each signature that is added: ``("3+2",)``.
        beat_types: Lower numbers, as many as ``beats``. Both empty: senza misura.
        symbol: MusicXML symbol (``common``, ``cut``, ...), empty for numbers.

    >>> Metre(("6",), (8,)).beat_lengths
    (Fraction(3, 2), Fraction(3, 2))
    """

    beats: tuple[str, ...] = ("4",)
    beat_types: tuple[int, ...] = (4,)
    symbol: str = ""

    @property
    def quarters(self) -> Fraction:
        """Length of a full measure in quarters; 0 for senza misura."""
        return sum(self._groups(), Fraction(0))

    @property
    def is_measured(self) -> bool:
        """False for senza misura."""
        return bool(self.beats)

    @property
    def is_compound(self) -> bool:
        """Whether beats divide in three: 6, 9, 12 (and more) over 8 or 16."""
        return len(self.beats) == 1 and _compound(self.beats[0], self.beat_types[0])

    @property
    def pulses(self) -> tuple[Pulse, ...]:
        """The beats that a player counts; none of senza misura.

        >>> [str(pulse.length) for pulse in Metre(("5",), (8,)).pulses]
        ['3/2', '1']
        """
        return counted_pulses(self)

    @property
    def beat_lengths(self) -> tuple[Fraction, ...]:
        """Their lengths in quarters."""
        return tuple(pulse.length for pulse in counted_pulses(self))

    def _groups(self) -> list[Fraction]:
        return [
            Fraction(int(number) * 4, kind)
            for text, kind in zip(self.beats, self.beat_types, strict=True)
            for number in text.split("+")
        ]

    def pulse_at(self, quarters: Fraction) -> tuple[Pulse, Fraction]:
        """Return the beat in which a moment lies, and how far into it: 0 to less than 1.

        Past the measure's end the last beat goes on repeating; senza misura counts quarters.
        """
        return pulse_at(counted_pulses(self), quarters)

    def beat_at(self, quarters: Fraction) -> Fraction:
        """Return the beat number of a moment: 1 at the start, 2.5 half-way through beat 2."""
        pulse, place = self.pulse_at(quarters)
        return pulse.number + place

    def beat_name(self, quarters: Fraction) -> str:
        """Return the beat of a moment for people, as it is counted.

        >>> common, jig = Metre(), Metre(("6",), (8,))
        >>> [common.beat_name(Fraction(at)) for at in ("1", "3/2", "7/3")]
        ['2', '2.5', '3 1/3']
        >>> [jig.beat_name(Fraction(at)) for at in ("3/2", "2", "5/2", "11/4")]
        ['2', '2 &', '2 a', '2 a ta']
        """
        pulse, place = self.pulse_at(quarters)
        if not place:
            return str(pulse.number)
        if pulse.threefold and 6 % place.denominator == 0:
            return f"{pulse.number} {_SIXTHS[int(6 * place)]}"
        if place.denominator in (2, 4, 8):
            return f"{float(pulse.number + place):g}"
        return f"{pulse.number} {place}"

    def strength(self, quarters: Fraction) -> int:
        """Return the metrical level of a moment: 0 for the downbeat, more for weaker ones.

        The levels are those of a metrical tree: measure, half of an even measure, beat, then
        halves (or thirds of a compound beat) again and again.
        """
        return _strength(self, quarters)

    def __str__(self) -> str:
        if not self.beats:
            return "senza misura"
        return " + ".join(f"{b}/{t}" for b, t in zip(self.beats, self.beat_types, strict=True))


def _compound(beats: str, beat_type: int) -> bool:
    return beats.isdigit() and int(beats) > 3 and int(beats) % 3 == 0 and beat_type >= 8


@lru_cache(maxsize=256)
def counted_pulses(metre: Metre, *, each: bool = False) -> tuple[Pulse, ...]:
    """Return the beats that are counted.

    Args:
        metre: The metre; of no measured one there are none.
        each: Count every note of the lower number where it is 8 or more: 6/8 in six.
    """
    return in_a_row(
        (size * unit, size == 3) for unit, sizes in groups(metre, each=each) for size in sizes
    )


def in_groups(count: int) -> tuple[int, ...]:
    """Return how a number of short notes is grouped: in threes, in twos, or with a three last."""
    if count in _UNEVEN:
        return _UNEVEN[count]
    if count % 3 == 0:
        return (3,) * (count // 3)
    if count % 2 == 0:
        return (2,) * (count // 2)
    return (2,) * (count // 2 - 1) + (3,) if count > 1 else (1,)


def groups(metre: Metre, *, each: bool) -> Iterator[tuple[Fraction, tuple[int, ...]]]:
    """Yield for each number of a signature its unit in quarters and the sizes of its beats."""
    numbers = [
        (int(number), kind)
        for text, kind in zip(metre.beats, metre.beat_types, strict=True)
        for number in text.split("+")
    ]
    added = len(numbers) > 1
    for count, kind in numbers:
        # Long and short beats: 3+2/8, 5/8, 6/8; but 3/8 and 8/8 are counted note by note.
        grouped = (
            kind >= 8 and not each and (added or (count > 3 and (count % 3 == 0 or count % 2)))
        )
        yield Fraction(4, kind), in_groups(count) if grouped else (1,) * count


def in_a_row(lengths: Iterable[tuple[Fraction, bool]]) -> tuple[Pulse, ...]:
    """Return pulses of some lengths, threefold or not, one after another."""
    found, start = [], Fraction(0)
    for number, (length, threefold) in enumerate(lengths, 1):
        found.append(Pulse(number, start, length, threefold))
        start += length
    return tuple(found)


def pulse_at(pulses: tuple[Pulse, ...], quarters: Fraction) -> tuple[Pulse, Fraction]:
    """Return the pulse in which a moment lies, and how far into it; see `Metre.pulse_at`."""
    for pulse in pulses:
        if quarters < pulse.start + pulse.length:
            return pulse, (quarters - pulse.start) / pulse.length
    last = pulses[-1] if pulses else _QUARTER
    more, left = divmod(quarters - last.start, last.length)
    start = last.start + more * last.length
    return Pulse(last.number + int(more), start, last.length, last.threefold), left / last.length


_QUARTER = Pulse(1, Fraction(0), Fraction(1))


@lru_cache(maxsize=8192)
def _strength(metre: Metre, quarters: Fraction) -> int:
    if quarters == 0:
        return 0
    pulse, place = metre.pulse_at(quarters)
    count = len(metre.pulses)
    if not place and pulse.number <= count:
        even = count % 2 == 0 and count > 2
        return 1 if even and pulse.number == count // 2 + 1 else 2
    return _within_beat(place * pulse.length, pulse.length, threefold=pulse.threefold)


def _within_beat(offset: Fraction, length: Fraction, *, threefold: bool) -> int:
    level, unit = 3, length / (3 if threefold else 2)
    while offset % unit and level < 12:
        level, unit = level + 1, unit / 2
    return level
