"""How a duration is written: note values, ties, dots, tuplets and rests.

The rules are those of engraving (common practice): a value may not hide the beat. Every measure
is a tree of spans: a 4/4 measure halves again and again, 3/4 is three such beats, a compound beat
is three units, 5/8 is a row of unlike groups. A value may cross the middle of a span only where
readers expect it: from its start (half, dotted half), dotted up to its end, or as the one
syncopation everybody reads (short, long, short). Anything else is cut there and tied.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from math import lcm

from variants.errors import UsageError
from variants.music import Metre, NoteValue, single_value
from variants.music.duration import QUARTERS_OF_TYPE

Piece = tuple[int, int, NoteValue]
_Cut = tuple[Fraction, Fraction]
# The shortest value that MusicXML can name.
_SHORTEST = min(QUARTERS_OF_TYPE.values())
# No tuplet of common practice divides a span into more notes than this.
_MOST_ACTUAL = 15
_WAY_OUT = "put simplify-rhythm before it"


@lru_cache(maxsize=65536)
def spell(
    onset: int,
    duration: int,
    metre: Metre,
    *,
    ticks: int,
    shift: int = 0,
    rest: bool = False,
) -> tuple[Piece, ...]:
    """Return the pieces that write a duration, to be tied (or, for a rest, set in a row).

    Args:
        onset: Ticks from the start of the measure.
        duration: Ticks, more than 0; it may not reach past the measure.
        metre: Metre in force.
        ticks: Ticks in a quarter.
        shift: Ticks of the metre that are missing before the measure starts (a pick-up).
        rest: Write silence: rests never hide a beat and take no dot in a simple metre.

    Returns:
        (onset, duration, value) of each piece, in order; durations add up to ``duration``.

    Raises:
        UsageError: The duration is not positive or no named value can write it.

    >>> [str(value) for _, _, value in spell(6, 10, Metre(), ticks=4)]
    ['eighth', 'half']
    >>> [str(value) for _, _, value in spell(2, 8, Metre(), ticks=4)]
    ['dotted quarter', 'eighth']
    """
    if duration <= 0:
        raise UsageError(f"a duration of {duration} ticks cannot be written", way_out=_WAY_OUT)
    start = Fraction(onset + shift, ticks)
    end = start + Fraction(duration, ticks)
    found = _in_ticks(_pieces(start, end, metre, rest=rest), ticks=ticks, shift=shift)
    if found is None:
        # So few ticks that the beats of the metre are no whole ones: show quarters instead.
        plain = _Span(Fraction(0), _power_above(end), "halves")
        pieces = _in_measure(plain, start, end, rest=rest)
        found = _in_ticks(pieces, ticks=ticks, shift=shift)
    if found is None:
        raise UsageError(
            f"{ticks} ticks in a quarter cannot hold what writes {duration} of them",
            way_out="write the score with more divisions",
        )
    return found


def _in_ticks(
    pieces: Iterator[tuple[Fraction, Fraction, NoteValue]], *, ticks: int, shift: int
) -> tuple[Piece, ...] | None:
    found: list[Piece] = []
    for low, high, value in pieces:
        first, length = low * ticks - shift, (high - low) * ticks
        if first.denominator != 1 or length.denominator != 1:
            return None
        found.append((int(first), int(length), value))
    return tuple(found)


def _power_above(quarters: Fraction) -> Fraction:
    length = Fraction(4)
    while length < quarters:
        length *= 2
    return length


# --- the tree of a measure ------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Span:
    """A span of a measure: ``halves`` for ever, ``thirds`` (three parts), or a ``row`` of parts."""

    start: Fraction
    length: Fraction
    kind: str
    parts: tuple[_Span, ...] = ()
    compound: bool = False

    @property
    def end(self) -> Fraction:
        return self.start + self.length


def _row(start: Fraction, lengths: list[tuple[Fraction, str]], *, compound: bool = False) -> _Span:
    parts: list[_Span] = []
    at = start
    for length, kind in lengths:
        parts.append(_leaf(at, length, kind))
        at += length
    if len(parts) == 1:
        return parts[0]
    if len(parts) == 4 and compound:
        halves = [_row(part.start, lengths[:2], compound=True) for part in parts[::2]]
        return _Span(start, at - start, "row", tuple(halves), compound=True)
    return _Span(start, at - start, "row", tuple(parts), compound)


def _leaf(start: Fraction, length: Fraction, kind: str) -> _Span:
    if kind == "halves":
        return _Span(start, length, kind)
    third = length / 3
    parts = tuple(_Span(start + index * third, third, "halves") for index in range(3))
    return _Span(start, length, "thirds", parts, compound=kind == "compound")


def _group(start: Fraction, count: int, unit: Fraction) -> _Span:
    """Return the span of ``count`` units as players group them (5 as 3+2, 7 as 2+2+3 or 4+3)."""
    short = unit <= Fraction(1, 2)
    if count & (count - 1) == 0:
        return _leaf(start, count * unit, "halves")
    if count % 3 == 0:
        kind = "compound" if short else "thirds"
        return _row(start, [(3 * unit, kind)] * (count // 3), compound=short or count > 3)
    sizes = [2, 2, 3] if count == 7 and short else _chunks(count)
    kinds = {3: "compound" if short else "thirds"}
    return _row(start, [(size * unit, kinds.get(size, "halves")) for size in sizes])


def _chunks(count: int) -> list[int]:
    if count == 5:
        return [3, 2]
    sizes = [4] * (count // 4)
    return [*sizes, count % 4] if count % 4 else sizes


@lru_cache(maxsize=256)
def _tree(metre: Metre) -> _Span:
    """Return the measure as one span, its groups in a row."""
    at, groups = Fraction(0), []
    for text, kind in zip(metre.beats, metre.beat_types, strict=True):
        for number in text.split("+"):
            group = _group(at, int(number), Fraction(4, kind))
            groups.append(group)
            at = group.end
    return groups[0] if len(groups) == 1 else _Span(Fraction(0), at, "row", tuple(groups))


# --- cutting --------------------------------------------------------------------------------------


def _pieces(
    start: Fraction, end: Fraction, metre: Metre, *, rest: bool
) -> Iterator[tuple[Fraction, Fraction, NoteValue]]:
    full = metre.quarters
    if not full:
        yield from _free(start, end)
        return
    tree = _tree(metre)
    while start < end:
        # A measure may be longer than its metre: the tree then begins again.
        base = full * (start // full)
        stop = min(end, base + full)
        for low, high, value in _in_measure(tree, start - base, stop - base, rest=rest):
            yield base + low, base + high, value
        start = stop


def _in_measure(
    tree: _Span, start: Fraction, end: Fraction, *, rest: bool
) -> Iterator[tuple[Fraction, Fraction, NoteValue]]:
    if _is_dyadic(start) and _is_dyadic(end):
        for low, high in _cuts(tree, (start, end), rest=rest):
            yield from _plain(low, high)
    else:
        yield from _tuplet(tree, start, end, rest=rest)


def _plain(start: Fraction, end: Fraction) -> Iterator[tuple[Fraction, Fraction, NoteValue]]:
    value = single_value(end - start)
    if value is None:
        yield from _free(start, end)
    else:
        yield start, end, value


def _free(start: Fraction, end: Fraction) -> Iterator[tuple[Fraction, Fraction, NoteValue]]:
    """Write a duration without a metre: the longest values first."""
    while start < end:
        found = _longest(end - start)
        if found is None:
            raise UsageError(f"no note value lasts {end - start} quarters", way_out=_WAY_OUT)
        length, value = found
        yield start, start + length, value
        start += length


def _longest(quarters: Fraction) -> tuple[Fraction, NoteValue] | None:
    whole = single_value(quarters)
    if whole is not None:
        return quarters, whole
    for name, length in QUARTERS_OF_TYPE.items():
        if length <= quarters:
            return length, NoteValue(name)
    return None


def _cuts(span: _Span, piece: _Cut, *, rest: bool) -> Iterator[_Cut]:
    """Yield the pieces into which a note or rest inside a span is cut."""
    if span.kind == "halves":
        yield from _cuts_of_halves(span.start, span.length, piece, rest=rest)
        return
    start, end = piece
    for part in span.parts:
        if part.start <= start and end <= part.end:
            yield from _cuts(part, piece, rest=rest)
            return
    if _may_stay(span, piece, rest=rest):
        yield piece
        return
    borders = [part.start for part in span.parts if start < part.start < end]
    # A note that begins with a part is whole as long as it can; one that does not shows the next.
    aligned = any(part.start == start for part in span.parts)
    border = borders[-1] if aligned and not rest else borders[0]
    if rest and span.kind == "thirds" and span.compound and start == span.start:
        border = borders[-1]
    yield from _cuts(span, (start, border), rest=rest)
    yield from _cuts(span, (border, end), rest=rest)


def _may_stay(span: _Span, piece: _Cut, *, rest: bool) -> bool:
    """Whether one value may cross the parts of a span."""
    start, end = piece
    length = end - start
    if single_value(length) is None:
        return False
    if rest:
        return _rest_may_stay(span, piece)
    edges = {part.start for part in span.parts} | {span.end}
    if start in edges and end in edges:
        return True
    if span.kind == "row" or length > 2 * span.parts[0].length:
        return False
    first = next(part for part in span.parts if part.start <= start < part.end)
    if start == span.start + span.length / 2:
        return False  # a dotted quarter there would make two of three beats
    return _reads_across(first.start, 2 * first.length, piece)


def _rest_may_stay(span: _Span, piece: _Cut) -> bool:
    start, end = piece
    if not span.compound:
        return False
    if (start, end) == (span.start, span.end):
        return True
    # A quarter rest stands for the first two eighths of a compound beat, never for the last two.
    two = 2 * span.length / 3
    return span.kind == "thirds" and start == span.start and end - start == two


def _cuts_of_halves(
    start: Fraction, length: Fraction, piece: _Cut, *, rest: bool
) -> Iterator[_Cut]:
    low, high = piece
    middle = start + length / 2
    if high <= middle:
        yield from _cuts_of_halves(start, length / 2, piece, rest=rest)
    elif low >= middle:
        yield from _cuts_of_halves(middle, length / 2, piece, rest=rest)
    elif (low == start and high == start + length) or (
        not rest and _reads_across(start, length, piece)
    ):
        yield piece
    else:
        yield from _cuts_of_halves(start, length / 2, (low, middle), rest=rest)
        yield from _cuts_of_halves(middle, length / 2, (middle, high), rest=rest)


def _reads_across(start: Fraction, length: Fraction, piece: _Cut) -> bool:
    """Whether readers accept one value across the middle of a span that halves."""
    low, high = piece
    size = high - low
    if low == start or high == start + length:
        return size in (length, length * 3 / 4)
    return low == start + length / 4 and size == length / 2


# --- tuplets --------------------------------------------------------------------------------------


def _is_dyadic(moment: Fraction) -> bool:
    below = moment.denominator
    return below & (below - 1) == 0


def _tuplet(
    tree: _Span, start: Fraction, end: Fraction, *, rest: bool
) -> Iterator[tuple[Fraction, Fraction, NoteValue]]:
    """Write a note with an end that no halving reaches, in the smallest span that holds it."""
    span, length, middle = _smallest(tree, start, end)
    parts = lcm(((start - span) / length).denominator, ((end - span) / length).denominator)
    beat = Fraction(3, 2) if not _is_power(length) else Fraction(1)
    if parts == 3 or (length <= beat and parts <= _MOST_ACTUAL):
        yield from _tuplet_values((start, end), length, parts)
        return
    if middle is None or length < 2 * _SHORTEST:
        raise UsageError(f"no tuplet holds {end - start} quarters", way_out=_WAY_OUT)
    yield from _in_measure(tree, start, middle, rest=rest)
    yield from _in_measure(tree, middle, end, rest=rest)


def _smallest(
    tree: _Span, start: Fraction, end: Fraction
) -> tuple[Fraction, Fraction, Fraction | None]:
    """Return start and length of the smallest span around a piece, and the border it crosses."""
    span = tree
    while span.parts:
        inner = [part for part in span.parts if part.start <= start and end <= part.end]
        if not inner:
            border = next(part.start for part in span.parts if start < part.start < end)
            return span.start, span.length, border
        span = inner[0]
    low, length = span.start, span.length
    while length > _SHORTEST:
        middle = low + length / 2
        if start < middle < end:
            return low, length, middle
        low = low if end <= middle else middle
        length /= 2
        if start == low and end == low + length:
            break
    return low, length, None


def _is_power(length: Fraction) -> bool:
    top, below = length.numerator, length.denominator
    return top & (top - 1) == 0 and below & (below - 1) == 0


def _tuplet_values(
    piece: _Cut, length: Fraction, actual: int
) -> Iterator[tuple[Fraction, Fraction, NoteValue]]:
    start, end = piece
    normal = 1 if _is_power(length) else 3
    while normal * 2 < actual:
        normal *= 2
    scale = Fraction(normal, actual)
    while start < end:
        found = _longest((end - start) / scale)
        if found is None:
            raise UsageError(f"no note value lasts {end - start} quarters", way_out=_WAY_OUT)
        written, value = found
        after = start + written * scale
        yield start, after, NoteValue(value.type, value.dots, actual, normal)
        start = after
