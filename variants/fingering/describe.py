"""Turn a path through a chain into places, fingers, hands and their costs."""

from __future__ import annotations

import numpy as np

from variants.fingering.answer import Barre, Fingered, FingeredNote, HandAt
from variants.fingering.chain import Chain, Floats, Layer
from variants.fingering.habits import in_pairs
from variants.guitar.grip import THUMB, Reach


def answer(chain: Chain, path: list[int], between: list[Floats]) -> Fingered:
    """Return the fingering that a path stands for.

    Args:
        chain: The chain of the passage.
        path: The state of each slot.
        between: Scores of the moves into the second slot and on.
    """
    hands: list[HandAt] = []
    for number, (layer, state) in enumerate(zip(chain.layers, path, strict=True)):
        move = -float(between[number - 1][path[number - 1], state]) if number else 0.0
        before = (
            hands[-1].position if hands else _named_position(layer, state, chain.reach, before=0)
        )
        hands.append(_hand(chain, number, state, came=(before, move)))
    return Fingered(
        notes=places(chain, path),
        hands=tuple(hands),
        cost=round(sum(hand.cost for hand in hands), 4),
    )


def places(chain: Chain, path: list[int]) -> tuple[FingeredNote, ...]:
    """Return the place and finger of each note of the passage on a path."""
    notes: dict[int, FingeredNote] = {}
    for layer, state in zip(chain.layers, path, strict=True):
        _take_notes(notes, layer, state, chain)
    return tuple(notes[index] for index in range(len(chain.passage.notes)))


def _take_notes(notes: dict[int, FingeredNote], layer: Layer, state: int, chain: Chain) -> None:
    grips = layer.block.grips
    for column, index in enumerate(layer.slot.new):
        string = int(grips.strings[state, column])
        fret = int(grips.frets[state, column])
        if fret:
            fret -= chain.reach.offsets[string - 1]
        note = FingeredNote(string, fret, int(grips.fingers[state, column]))
        for head in chain.sounds[index].heads:
            notes[head] = note


def _hand(chain: Chain, number: int, state: int, *, came: tuple[int, float]) -> HandAt:
    layer = chain.layers[number]
    block, grips = layer.block, layer.block.grips
    before, move_cost = came
    position = _named_position(layer, state, chain.reach, before=before)
    grip = -float(layer.own[state])
    stopped = grips.frets[state][grips.frets[state] > 0]
    span = chain.real_mm(int(stopped.min()), int(stopped.max())) if len(stopped) else 0.0
    gone = [
        chain.sounds[index].heads[-1]
        for column, index in enumerate(layer.slot.held)
        if not grips.strings[state, grips.new + column] and not layer.slot.ringing[column]
    ]
    return HandAt(
        onset=layer.slot.onset,
        notes=tuple(chain.sounds[index].heads[0] for index in layer.slot.new),
        position=position,
        barre=_barre(grips.strings[state], grips.frets[state], grips.fingers[state]),
        stretch_mm=round(span, 1),
        travel_mm=round(chain.real_mm(before, position), 1),
        seconds=round(layer.slot.seconds, 4),
        open_strings=int(block.opens[state]),
        let_go=tuple(gone),
        grip_cost=round(grip, 4),
        context_cost=round(-float(layer.unary[state]) - grip, 4),
        move_cost=round(move_cost, 4),
    )


def _named_position(layer: Layer, state: int, reach: Reach, *, before: int) -> int:
    """Return the position that is told of a state.

    Where the first finger is up, the search may think of the hand as a fret to either side of
    where the lowest finger has its own fret. That is told only while the hand stays there.
    """
    grips = layer.block.grips
    position = int(grips.position[state])
    down = (grips.fingers[state] > 0) & (grips.fingers[state] < THUMB)
    if not down.any() or (position == before and not in_pairs(reach)):
        return position
    finger = int(grips.fingers[state][down].min())
    fret = int(grips.frets[state][grips.fingers[state] == finger][0])
    if in_pairs(reach):
        below = fret - 2 * (finger - 1)
        return below if below > 2 else 1
    return position if finger == 1 else max(1, fret - finger + 1)


def _barre(
    strings: np.ndarray[tuple[int], np.dtype[np.int16]],
    frets: np.ndarray[tuple[int], np.dtype[np.int16]],
    fingers: np.ndarray[tuple[int], np.dtype[np.int16]],
) -> Barre | None:
    found: list[Barre] = []
    if len(set(fingers[fingers > 0].tolist())) == int((fingers > 0).sum()):
        return None
    for finger in range(1, 5):
        holds = strings[(fingers == finger) & (frets > 0)]
        if len(holds) > 1:
            fret = int(frets[fingers == finger][0])
            found.append(Barre(fret, int(holds.max()), int(holds.min()), finger))
    return max(found, key=lambda barre: barre.from_string - barre.to_string, default=None)
