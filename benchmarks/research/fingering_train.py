"""Fit the weights: conditional likelihood of a chain with partial labels, by stochastic gradient.

The model is a conditional random field (Lafferty 2001) over the lattice that the engine searches.
Editors mark some notes and leave the rest: the likelihood of what they marked is the ratio of two
sums over paths, one weighted by how well the path agrees with the marks, one over all paths
(Quattoni 2007), so unmarked notes are summed out. Marks are taken as noisy: a path that
contradicts one keeps a small probability.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
import numpy.typing as npt

from benchmarks.fingering_data import STRONG, Piece, finger_mark, playable
from variants.fingering.chain import Chain
from variants.fingering.context import position_context
from variants.fingering.lattice import CODES, MAX_POSITION
from variants.fingering.model import Model, travel_mm
from variants.fingering.passage import Settings
from variants.fingering.search import allowed_moves, hand_codes
from variants.fingering.tables import finger_moves, hand_steps, lead_moves, line_relations

Floats = npt.NDArray[np.floating[Any]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Recipe:
    """How a fit is done.

    Args:
        string: Log-likelihood lost where a path contradicts a marked string.
        finger: The same for a marked finger.
        carried: The same for a string that is only carried over from an earlier mark.
        carried_finger: The same for such a finger.
        position: Lost for each fret between the hand and the editor's Roman numeral, up to three.
        unmarked_open: Gained where a note that an editor who prints Roman numerals left unmarked is
            open: of the notes that only one string can sound, such an editor marks half of the
            stopped ones and none of the open ones.
        decay: Pull of each weight toward the hand-set start.
        line_decay: Factor on that for the pairs of fingers of the line.
        pair_decay: The same for the pairs of fingers of a grip.
        unmarked_obvious: Gained where a note without any mark, in a part without Roman numerals
            there, lies at its lowest fret: editors mark a string where it is not the obvious one.
        epochs: Passes over the data.
        rate: Step size.
        window: Slots in a chunk.
        heavy: Labels in a piece from which on it counts less than in proportion.
    """

    string: float = 5.0
    finger: float = 4.0
    carried: float = 1.0
    carried_finger: float = 0.7
    position: float = 0.5
    unmarked_open: float = 0.4
    unmarked_obvious: float = 0.0
    decay: float = 0.02
    line_decay: float = 1.0
    pair_decay: float = 1.0
    epochs: int = 5
    rate: float = 0.05
    window: int = 48
    heavy: int = 0


@dataclass(slots=True)
class Prepared:
    """A piece as arrays: for each slot its states' features, and the categories of its moves."""

    piece: Piece
    chain: Chain
    keep: list[int]
    context: list[Floats] = field(default_factory=list)
    opens: Floats = field(default_factory=lambda: np.zeros((0, 0)))
    moves: list[tuple[Any, ...]] = field(default_factory=list)
    marks: list[Floats] = field(default_factory=list)
    weight: float = 1.0
    numerals: bool = False


def prepared(piece: Piece, model: Model, *, numerals: bool = False, beam: int = 64) -> Prepared:
    """Return a piece as arrays. The lattice is made and bounded without any label."""
    chain, keep = playable(piece, Settings(beam=beam), model)
    out = Prepared(piece, chain, keep, numerals=numerals)
    slots = tuple(layer.slot for layer in chain.layers)
    position, out.opens = position_context(slots, chain.sounds, chain.reach)
    hands, fingers = hand_steps(), finger_moves()
    leads, relations = lead_moves(chain.reach.open_midi), line_relations()
    travel = travel_mm(chain.reach.scale_mm) / 100.0
    for number, layer in enumerate(chain.layers):
        where = np.minimum(layer.block.grips.position, MAX_POSITION)
        out.context.append(position[number, where])
        if not number:
            out.moves.append(())
            continue
        a, b = chain.layers[number - 1].block, layer.block
        both = np.ix_(hand_codes(a), hand_codes(b))
        places = a.lead[:, None] * CODES + b.lead
        line = relations.take(places) + a.lead_finger[:, None] * 5 + b.lead_finger
        kinds = [fingers[np.ix_(a.places[:, k], b.places[:, k])] for k in range(4)]
        out.moves.append(
            (
                hands[both].astype(np.int16),
                [kind.astype(np.int16) for kind in kinds],
                leads.take(places).astype(np.int16),
                line.astype(np.int16),
                travel[both].astype(np.float32),
                allowed_moves(chain.layers[number - 1], layer),
            )
        )
    return out


def marked(prep: Prepared, recipe: Recipe) -> Prepared:
    """Return a prepared piece with the editor's marks, weighed as the recipe says."""
    marks = [_marks(prep, number, recipe) for number in range(len(prep.chain.layers))]
    labels = sum(float(mark.min()) < -3.0 for mark in marks)
    weight = math.sqrt(recipe.heavy / labels) if recipe.heavy and labels > recipe.heavy else 1.0
    return replace(prep, marks=marks, weight=weight)


def _marks(prep: Prepared, number: int, recipe: Recipe) -> Floats:
    """Return the log-likelihood of the editor's marks at a slot under each state."""
    layer = prep.chain.layers[number]
    grips = layer.block.grips
    total = np.zeros(len(layer.block))
    place = 0
    for column, sound in enumerate(layer.slot.new):
        note = prep.piece["notes"][prep.keep[prep.chain.sounds[sound].heads[0]]]
        string, fret = grips.strings[:, column], grips.frets[:, column]
        finger, source, mark = grips.fingers[:, column], note["string_src"], finger_mark(note)
        if source in STRONG:
            total -= recipe.string * (string != note["string"])
        elif source == "open":
            total -= recipe.string * (fret != 0)
        elif source == "carried":
            total -= recipe.carried * (string != note["string"])
            if note["fret"] and note.get("finger_carried") is not None:
                total -= recipe.carried_finger * (finger != int(note["finger_carried"]))
        elif source is None and note["finger"] is None and prep.numerals:
            total += recipe.unmarked_open * (fret == 0)
        if source is None and note["finger"] is None and not note.get("hand_position"):
            total += recipe.unmarked_obvious * (fret == fret.min())
        if mark:
            total -= recipe.finger * (finger != mark)
        place = note.get("hand_position") or place
    if place:
        total -= recipe.position * np.minimum(np.abs(grips.position - place), 3)
    return total
