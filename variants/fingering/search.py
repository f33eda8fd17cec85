"""The search over a chain: the best path, the k best paths, and what is likely at each slot."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any

import numpy as np
import numpy.typing as npt

from variants.fingering.chain import Chain, Layer
from variants.fingering.lattice import CODES, MAX_POSITION, PLACES, Block
from variants.fingering.model import Model, Tables, fitted, fitted_tables
from variants.fingering.scoring import no_false_alarm
from variants.fingering.tables import HANDS, line_relations

Floats = npt.NDArray[np.float32]
Bools = npt.NDArray[np.bool_]
Sums = npt.NDArray[np.float64]

# A slurred note that changes its string is kept as a last way out.
_SLUR = np.float32(-40.0)
NEVER = np.float32(-1e9)
# A note of a held broken chord that comes again keeps its string and finger.
_AGAIN = np.float32(-8.0)
# In a fast run no finger slides onto a high fret, where the next one is at hand.
_FAST_SLIDE, _HIGH_FRET = np.float32(-6.0), 12
_SHARED = 2.0
# More than any neck has, so that whatever was shared can be looked up for any state.
_POSITIONS, _STRINGS = 64, 16


def hand_codes(block: Block) -> npt.NDArray[np.int32]:
    """Return position * 2 + (1 when no finger is down) for each state."""
    position = np.minimum(block.grips.position, MAX_POSITION).astype(np.int32)
    return position * 2 + ~block.stopped


def allowed_moves(before: Layer, after: Layer) -> Bools | None:
    """Return which moves leave held notes in place; ``None`` when nothing is held."""
    mask: Bools | None = None
    for here, there in after.held:
        now, then = after.block.hold[:, here], before.block.hold[:, there]
        ok = (now[None, :] == 0) | (now[None, :] == then[:, None])
        mask = ok if mask is None else mask & ok
    return mask


def moves(before: Layer, after: Layer, tables: Tables) -> Floats:
    """Return the score of each move, shape (states before, states after)."""
    a, b = before.block, after.block
    scores: Floats = tables.hand[after.time].take(hand_codes(a)[:, None] * HANDS + hand_codes(b))
    slow = int(after.time >= 2)
    for finger in range(4):
        scores += tables.finger[slow, finger].take(
            a.places[:, finger, None] * CODES + b.places[:, finger]
        )
    places = a.lead[:, None] * CODES + b.lead
    scores += tables.lead.take(places)
    fingers = a.lead_finger[:, None] * 5 + b.lead_finger
    scores += tables.line.take(line_relations().take(places) + fingers)
    for here, there in after.slurs:
        scores += _SLUR * (a.hold[:, there, None] // 8 != b.hold[:, here] // 8)
    for here, there in after.again:
        was, now = a.hold[:, there, None], b.hold[:, here]
        scores += _AGAIN * ((was != now) & (was > 0))
    if after.time == 0:
        scores += _FAST_SLIDE * _slides_high(a, b)
    mask = allowed_moves(before, after)
    if mask is not None:
        scores[~mask] = NEVER
    return scores


def _slides_high(before: Block, after: Block) -> Bools:
    """Return which moves take a finger along its string to a high fret."""
    slides = np.zeros((len(before), len(after)), dtype=np.bool_)
    high = (after.places % PLACES >= _HIGH_FRET).any(axis=0)
    for finger in np.nonzero(high)[0]:
        was, now = before.places[:, finger, None], after.places[:, finger]
        along = (was // PLACES == now // PLACES) & (was != now) & (was % PLACES > 0)
        slides |= along & (now % PLACES >= _HIGH_FRET)
    return slides


def all_moves(chain: Chain, model: Model) -> list[Floats]:
    """Return the scores of the moves into the second slot, the third, and so on."""
    if model is fitted():
        tables = fitted_tables(chain.reach.open_midi, chain.reach.scale_mm)
    else:
        tables = model.tables(chain.reach.open_midi, chain.reach.scale_mm)
    layers = chain.layers
    # The same two sonorities follow each other again and again.
    known: dict[tuple[int, int, int], Floats] = {}
    found: list[Floats] = []
    for before, after in pairwise(layers):
        key = (id(before.block), id(after.block), after.time)
        if after.held or after.slurs or after.again:
            found.append(moves(before, after, tables))
            continue
        if key not in known:
            known[key] = moves(before, after, tables)
        found.append(known[key])
    return found


def best_path(unaries: list[Floats], between: list[Floats]) -> tuple[list[int], float]:
    """Return the state of each slot on the best path, and its score (Viterbi 1967)."""
    score = unaries[0].astype(np.float64)
    back: list[npt.NDArray[np.intp]] = []
    for unary, move in zip(unaries[1:], between, strict=True):
        total = score[:, None] + move
        arg = total.argmax(axis=0)
        back.append(arg)
        score = total[arg, np.arange(len(arg))] + unary
    state = int(score.argmax())
    best = float(score[state])
    path = [state]
    for arg in reversed(back):
        state = int(arg[state])
        path.append(state)
    return path[::-1], best


def marginals(unaries: list[Floats], between: list[Floats]) -> list[Floats]:
    """Return how likely each state is, by the forward-backward sums (Rabiner 1989)."""
    by_move = {id(move): move for move in between}
    shares = {name: np.exp(move - move.max()) for name, move in by_move.items()}
    weights = [shares[id(move)] for move in between]
    local = [np.exp(unary - unary.max()) for unary in unaries]
    forward = [local[0] / local[0].sum()]
    with no_false_alarm():
        for index in range(1, len(local)):
            row = (forward[-1] @ weights[index - 1]) * local[index]
            forward.append(row / max(float(row.sum()), 1e-30))
        backward = np.ones_like(forward[-1])
        out = [forward[-1]]
        for index in range(len(local) - 2, -1, -1):
            backward = weights[index] @ (local[index + 1] * backward)
            backward = backward / max(float(backward.max()), 1e-30)
            row = forward[index] * backward
            out.append(row / max(float(row.sum()), 1e-30))
    return out[::-1]


@dataclass(frozen=True, slots=True)
class Shares:
    """How large a share of the good paths each choice at a slot has.

    Args:
        positions: By position.
        strings: By string, for each new note.
        fingers: By string * 8 + finger, for each new note.
    """

    positions: Sums
    strings: tuple[Sums, ...]
    fingers: tuple[Sums, ...]


def shares_of(chain: Chain, between: list[Floats]) -> list[Shares]:
    """Return the shares of every slot of a chain."""
    found = []
    likely = marginals([layer.unary for layer in chain.layers], between)
    for layer, share in zip(chain.layers, likely, strict=True):
        grips = layer.block.grips
        strings = [grips.strings[:, column].astype(np.intp) for column in range(grips.new)]
        both = [string * 8 + grips.fingers[:, column] for column, string in enumerate(strings)]
        found.append(
            Shares(
                _summed(grips.position, share, _POSITIONS),
                tuple(_summed(one, share, _STRINGS) for one in strings),
                tuple(_summed(one, share, _STRINGS * 8) for one in both),
            )
        )
    return found


def _summed(index: npt.NDArray[np.integer[Any]], share: Floats, size: int) -> Sums:
    return np.bincount(index, weights=share, minlength=size).astype(np.float64)


def rewarded(chain: Chain, shares: list[Shares]) -> Chain:
    """Return a chain with a bonus for the places and fingers that many good paths share.

    The single best path can be an outlier; a place that most of the good paths have is the safer
    choice (minimum Bayes risk, Goel and Byrne 2000). A string that no path shares costs
    ``_SHARED``, its finger as much again, and the position a little; what all share costs nothing.

    Args:
        chain: A chain of the passage; not all its states need be in the one that was shared.
        shares: Shares of each slot.
    """
    layers = []
    for layer, share in zip(chain.layers, shares, strict=True):
        grips = layer.block.grips
        bonus = 0.2 * share.positions[grips.position]
        bonus -= 0.2 + 2.0 * grips.new
        for column in range(grips.new):
            string = grips.strings[:, column].astype(np.intp)
            bonus += share.strings[column][string]
            bonus += share.fingers[column][string * 8 + grips.fingers[:, column]]
        unary = layer.unary + (_SHARED * bonus).astype(np.float32)
        layers.append(replace(layer, unary=unary))
    return replace(chain, layers=tuple(layers))


def best_paths(unaries: list[Floats], between: list[Floats], count: int) -> list[list[int]]:
    """Return up to ``count`` best paths, the best first (list Viterbi, Seshadri 1994).

    Each state keeps its ``count`` best ways there.
    """
    score = unaries[0].astype(np.float64)[:, None]
    back: list[tuple[npt.NDArray[np.intp], int]] = []
    for unary, move in zip(unaries[1:], between, strict=True):
        states, ranks = score.shape
        total = (score[:, :, None] + move[:, None, :]).reshape(states * ranks, -1)
        keep = min(count, states * ranks)
        order = np.argsort(-total, axis=0, kind="stable")[:keep]
        back.append((order.T, ranks))
        score = np.take_along_axis(total, order, axis=0).T + unary[:, None]
    flat = score.ravel()
    ends = np.argsort(-flat, kind="stable")[:count]
    paths = []
    for end in ends[flat[ends] > NEVER / 2]:
        state, rank = divmod(int(end), score.shape[1])
        path = [state]
        for order, ranks in reversed(back):
            state, rank = divmod(int(order[state, rank]), ranks)
            path.append(state)
        paths.append(path[::-1])
    return paths
