"""The lattice: for each slot the grips that may be held, with the notes that still sound.

A state is a grip of the new notes, the held notes that stay down, and the position of the hand
(the fret of the first finger, whether it is down or not). A held note may be let go early: those
states carry a cost for each moment that the note is missing, and always give a way on.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import lru_cache
from itertools import combinations

import numpy as np
import numpy.typing as npt

from variants.fingering.features import Held, describe
from variants.fingering.sounds import HandSound, Slot
from variants.guitar.grip import THUMB, GripTable, Reach, grips

Ints = npt.NDArray[np.int32]
Floats = npt.NDArray[np.float32]

MAX_POSITION = 24
PLACES = 26
_MOST_FRETS = 64
# Codes of a finger's place: 0 is up; the rest string * PLACES + fret, string 0 for a barre.
CODES = 12 * PLACES
# So many states of one instrument are remembered, some tens of megabytes, however many pieces
# are fingered.
_MOST_STATES = 100_000


@dataclass(frozen=True, slots=True)
class Block:
    """The states of a sonority.

    Args:
        grips: The grips and positions; columns are the new notes, then the held ones.
        features: Feature indices (states, features).
        reals: Real features (states, numbers).
        hold: What each note's finger does: string * 8 + finger, 0 when it was let go.
        places: Place code of each of the four fingers (states, 4).
        lead: Place code of the highest new note, open strings included.
        lead_finger: Finger of that note.
        opens: New open strings.
        stopped: Whether a finger is down.
    """

    grips: Held
    features: Ints
    reals: Floats
    hold: Ints
    places: Ints
    lead: Ints
    lead_finger: Ints
    opens: Ints
    stopped: npt.NDArray[np.bool_]

    def __len__(self) -> int:
        return len(self.lead)

    def rows(self, keep: npt.NDArray[np.intp]) -> Block:
        """Return the block with some of its states."""
        held = self.grips
        return Block(
            Held(
                held.strings[keep],
                held.frets[keep],
                held.fingers[keep],
                held.position[keep],
                held.new,
                held.midis,
                held.ringing,
            ),
            self.features[keep],
            self.reals[keep],
            self.hold[keep],
            self.places[keep],
            self.lead[keep],
            self.lead_finger[keep],
            self.opens[keep],
            self.stopped[keep],
        )


_Key = tuple[tuple[int, ...], tuple[int, ...], tuple[bool, ...]]


@dataclass(slots=True)
class Blocks:
    """Makes blocks and remembers them by sonority.

    Args:
        reach: Instrument, hand and limits.
    """

    reach: Reach
    _made: dict[_Key, Block | None] = field(default_factory=dict)
    _states: int = 0

    def of(self, slot: Slot, sounds: tuple[HandSound, ...]) -> Block | None:
        """Return the states at a slot, or ``None`` when its new notes cannot be held at all."""
        key = (
            tuple(sounds[index].midi for index in slot.new),
            tuple(sounds[index].midi for index in slot.held),
            slot.ringing,
        )
        if key in self._made:
            return self._made[key]
        block = _block(key, self.reach)
        self._made[key] = block
        self._states += len(block) if block is not None else 0
        return block

    def trim(self) -> None:
        """Forget all blocks when there are too many; never while a chain is being made of them."""
        if self._states > _MOST_STATES:
            self._made.clear()
            self._states = 0


@lru_cache(maxsize=4)
def blocks_for(reach: Reach) -> Blocks:
    """Return the blocks that all passages for an instrument and its limits share.

    Most pieces are made of the same few dozen sonorities.
    """
    return Blocks(reach)


def _block(key: _Key, reach: Reach) -> Block | None:
    new, held, ringing = key
    tables = []
    for kept in _kept_sets(len(held)):
        midis = (*new, *(held[index] for index in kept))
        table = grips(midis, reach)
        if len(table):
            tables.append(_spread(table, len(new), kept, len(held)))
    if not tables:
        return None
    strings, frets, fingers = (
        np.concatenate([getattr(table, name) for table in tables])
        for name in ("strings", "frets", "fingers")
    )
    row, position = _positions(frets, fingers, reach)
    if not len(row):
        return None
    states = Held(
        strings[row], frets[row], fingers[row], position, len(new), (*new, *held), ringing
    )
    return _described(states, reach)


def _kept_sets(held: int) -> list[tuple[int, ...]]:
    """All held notes stay, or all but one, or none of them; every subset of two."""
    everything = tuple(range(held))
    sets = [everything]
    if held > 1:
        sets += list(combinations(everything, held - 1))
    if held:
        sets.append(())
    return sets


def _spread(table: GripTable, new: int, kept: tuple[int, ...], held: int) -> GripTable:
    """Put the columns of kept notes where they belong among all held ones."""
    columns = [*range(new), *(new + index for index in kept)]
    out = []
    for array in (table.strings, table.frets, table.fingers):
        wide = np.zeros((len(array), new + held), dtype=np.int16)
        wide[:, columns] = array
        out.append(wide)
    return GripTable(out[0], out[1], out[2])


def _positions(
    frets: npt.NDArray[np.int16], fingers: npt.NDArray[np.int16], reach: Reach
) -> tuple[npt.NDArray[np.intp], npt.NDArray[np.int16]]:
    """Return (grip, position) pairs: where the first finger stands, or could stand.

    Where it is down, the position is its fret. Else the lowest finger tells it up to one fret to
    either side, and with no finger down the hand may be anywhere.
    """
    usable = (fingers > 0) & (fingers < THUMB)
    finger = np.where(usable, fingers, 9).min(axis=1)
    at_finger = np.where(fingers == finger[:, None], frets, 0).max(axis=1)
    highest = np.where(usable, frets, 0).max(axis=1)
    rows, positions = [], []
    every = np.arange(len(frets))
    at_mm = reach.scale_mm * 2.0 ** (-np.arange(_MOST_FRETS) / 12)
    highest_mm = at_mm[highest]
    for shift in (0, 1, -1):
        position = at_finger - finger + 1 + shift
        ok = (finger < 9) & (position >= 1) & (position <= at_finger)
        if shift:
            ok &= finger > 1
        reach_mm = at_mm[np.maximum(position, 0)] - highest_mm
        ok &= (finger == 1) | (reach_mm <= reach.hand.limit_mm(1, 4))
        rows.append(every[ok])
        positions.append(position[ok])
    free = every[finger == 9]
    # Where only open strings are allowed the hand still stands somewhere.
    top = max(1, min(19, max(reach.top_frets)))
    rows.append(np.repeat(free, top))
    positions.append(np.tile(np.arange(1, top + 1), len(free)))
    row = np.concatenate(rows)
    position = np.concatenate(positions).astype(np.int16)
    order = np.lexsort((position, row))
    return row[order], position[order]


def _described(states: Held, reach: Reach) -> Block:
    features, reals = describe(states, reach)
    strings, fingers = states.strings.astype(np.int32), states.fingers.astype(np.int32)
    frets = states.frets.astype(np.int32)
    new = states.new
    top = int(np.argmax(states.midis[:new]))
    lead = np.minimum(strings[:, top], 11) * PLACES + np.minimum(frets[:, top], PLACES - 1)
    opens = ((frets == 0) & (strings > 0))[:, :new].sum(axis=1).astype(np.int32)
    stopped: npt.NDArray[np.bool_] = np.asarray((frets > 0).any(axis=1), dtype=np.bool_)
    return Block(
        states,
        features,
        reals,
        strings * 8 + fingers,
        _finger_places(strings, frets, fingers),
        lead,
        np.minimum(fingers[:, top], 4),
        opens,
        stopped,
    )


def _finger_places(strings: Ints, frets: Ints, fingers: Ints) -> Ints:
    holds = (fingers[:, :, None] == np.arange(1, 5)) & (frets > 0)[:, :, None]
    fret = (frets[:, :, None] * holds).max(axis=1)
    string = (np.minimum(strings, 11)[:, :, None] * holds).max(axis=1)
    string[holds.sum(axis=1) > 1] = 0  # a barre
    places: Ints = (string * PLACES + np.minimum(fret, PLACES - 1)).astype(np.int32)
    return places
