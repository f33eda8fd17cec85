"""One grip, one fingering: the same shape has the same fingers throughout a piece.

A shape is two notes or more that are struck together: their strings, and their frets above the
lowest of them; a shape with open strings stays where it is. What is commonest in the best answer
becomes a wish for all places of the shape; where the notes around make it dear, another may stand,
and that is told.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from variants.fingering.answer import FingeredNote, HandAt
from variants.fingering.chain import Chain, Layer

# What another fingering of a known shape costs.
_OTHER = 6.0

Shape = tuple[tuple[int, int], ...]
Fingers = tuple[int, ...]


def shape_of(strings: Sequence[int], frets: Sequence[int]) -> Shape:
    """Return (string, fret) of each note; frets count from the lowest if none is open.

    >>> shape_of((6, 5), (3, 5)), shape_of((6, 5), (0, 2))
    (((6, 1), (5, 3)), ((6, 0), (5, 2)))
    """
    low = min(frets) - 1 if min(frets) > 0 else 0
    return tuple((string, fret - low) for string, fret in zip(strings, frets, strict=True))


def one_fingering(chain: Chain, path: Sequence[int]) -> Chain:
    """Return the chain with a cost on fingerings of a shape that are not its commonest.

    Args:
        chain: The chain of a passage.
        path: The best state of each slot.
    """
    found: dict[Shape, Counter[Fingers]] = defaultdict(Counter)
    for layer, state in zip(chain.layers, path, strict=True):
        grips = layer.block.grips
        if grips.new > 1:
            row = (state, slice(grips.new))
            shape = shape_of(grips.strings[row].tolist(), grips.frets[row].tolist())
            found[shape][tuple(grips.fingers[row].tolist())] += 1
    several = {shape: counts.most_common(1)[0][0] for shape, counts in found.items() if counts}
    layers = tuple(_held_to(layer, several) for layer in chain.layers)
    return replace(chain, layers=layers)


def _held_to(layer: Layer, chosen: dict[Shape, Fingers]) -> Layer:
    grips = layer.block.grips
    if grips.new < 2:
        return layer
    strings, frets, fingers = (
        array[:, : grips.new] for array in (grips.strings, grips.frets, grips.fingers)
    )
    lowest = frets.min(axis=1, keepdims=True)
    above = frets - np.where(lowest > 0, lowest - 1, 0)
    cost = np.zeros(len(strings), dtype=np.float32)
    for shape, its_fingers in chosen.items():
        if len(shape) == grips.new:
            wanted = np.array(shape)
            same = (strings == wanted[:, 0]).all(axis=1) & (above == wanted[:, 1]).all(axis=1)
            cost += _OTHER * (same & (fingers != np.array(its_fingers)).any(axis=1))
    return replace(layer, unary=layer.unary - cost)


@dataclass(frozen=True, slots=True)
class Otherwise:
    """Where a shape has other fingers than in most places.

    Args:
        notes: Indices of the first heads of its notes, where that happens first.
        fingers: Its fingers there.
        usual: Its fingers in most places.
        count: How often it has those fingers.
    """

    notes: tuple[int, ...]
    fingers: Fingers
    usual: Fingers
    count: int


def otherwise(notes: Sequence[FingeredNote], hands: Sequence[HandAt]) -> Iterator[Otherwise]:
    """Yield each other fingering of a shape than the one it has in most places."""
    places: dict[Shape, list[tuple[tuple[int, ...], Fingers]]] = defaultdict(list)
    for hand in hands:
        mine = [notes[index] for index in hand.notes]
        if len(mine) > 1:
            shape = shape_of([note.string for note in mine], [note.fret for note in mine])
            places[shape].append((hand.notes, tuple(note.finger for note in mine)))
    for found in places.values():
        counts = Counter(fingers for _, fingers in found)
        usual = counts.most_common(1)[0][0]
        first = {fingers: standing for standing, fingers in reversed(found)}
        for fingers, count in counts.items():
            if fingers != usual:
                yield Otherwise(first[fingers], fingers, usual, count)
