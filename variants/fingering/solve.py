"""Finger a passage: the best answer under the model."""

from __future__ import annotations

import numpy as np

from variants.fingering.answer import Barre, Fingered, FingeredNote, HandAt
from variants.fingering.chain import Chain, Layer, chain_of, own_scores
from variants.fingering.model import Model, fitted
from variants.fingering.passage import Passage, Settings
from variants.fingering.search import all_moves, best_path


def solve(passage: Passage, settings: Settings, model: Model | None = None) -> Fingered:
    """Return the best fingering of a passage.

    Args:
        passage: The notes and the instrument.
        settings: Hand, limits and wishes.
        model: Weights; those of the package when left out.

    Raises:
        UnplayableOnset: No hand can play an onset within the limits.
    """
    if not passage.notes:
        return Fingered(notes=(), hands=(), cost=0.0)
    used = fitted() if model is None else model
    chain = chain_of(passage, settings, used)
    between = all_moves(chain, used)
    path, _ = best_path([layer.unary for layer in chain.layers], between)
    return answer(
        chain,
        path,
        [0.0, *(-float(move[path[i], path[i + 1]]) for i, move in enumerate(between))],
        used,
    )


def answer(chain: Chain, path: list[int], move_costs: list[float], model: Model) -> Fingered:
    """Return a path through a chain as places, fingers and hands."""
    notes: dict[int, FingeredNote] = {}
    hands: list[HandAt] = []
    for layer, state, move_cost in zip(chain.layers, path, move_costs, strict=True):
        _take_notes(notes, layer, state, chain)
        hands.append(_hand(layer, state, chain, (hands[-1] if hands else None, move_cost, model)))
    return Fingered(
        notes=tuple(notes[index] for index in range(len(chain.passage.notes))),
        hands=tuple(hands),
        cost=round(sum(hand.cost for hand in hands), 4),
    )


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


def _hand(
    layer: Layer, state: int, chain: Chain, came: tuple[HandAt | None, float, Model]
) -> HandAt:
    before, move_cost, model = came
    block = layer.block
    grips = block.grips
    frets, fingers = grips.frets[state], grips.fingers[state]
    stopped = frets[frets > 0]
    mm = chain.passage.scale_length_mm * 2.0 ** (-chain.passage.capo / 12)
    position = int(grips.position[state])
    came_from = before.position if before else position
    row = block.rows(np.array([state]))
    grip = -float(own_scores(row, model)[0])
    sounds = [chain.sounds[index] for index in layer.slot.held]
    gone = [
        sound.heads[-1]
        for column, sound in enumerate(sounds, grips.new)
        if not grips.strings[state, column]
    ]
    span = abs(2.0 ** (-stopped.min() / 12) - 2.0 ** (-stopped.max() / 12)) if len(stopped) else 0
    return HandAt(
        onset=layer.slot.onset,
        notes=tuple(head for index in layer.slot.new for head in chain.sounds[index].heads[:1]),
        position=position,
        barre=_barre(grips.strings[state], frets, fingers),
        stretch_mm=round(float(span) * mm, 1),
        travel_mm=round(abs(2.0 ** (-came_from / 12) - 2.0 ** (-position / 12)) * mm, 1),
        seconds=layer.slot.seconds,
        open_strings=int(block.opens[state]),
        let_go=tuple(gone),
        grip_cost=round(grip, 4),
        context_cost=round(-float(layer.unary[state]) - grip, 4),
        move_cost=round(move_cost, 4),
    )


def _barre(strings: np.ndarray, frets: np.ndarray, fingers: np.ndarray) -> Barre | None:
    found: list[Barre] = []
    for finger in range(1, 5):
        holds = strings[(fingers == finger) & (frets > 0)]
        if len(holds) > 1:
            fret = int(frets[fingers == finger][0])
            found.append(Barre(fret, int(holds.max()), int(holds.min()), finger))
    return max(found, key=lambda barre: barre.from_string - barre.to_string, default=None)
