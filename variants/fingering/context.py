"""What the notes around a slot say about where the hand should stand.

For each slot and position: how many of the sounds near it lie under the hand in that position
(four frets, with and without open strings, with a stretch). Harmonic context enters here: a key
fits some positions without a stretch and others not.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from variants.fingering.habits import home_top
from variants.fingering.lattice import MAX_POSITION
from variants.fingering.sounds import HandSound, Slot
from variants.guitar.grip import Reach

Floats = npt.NDArray[np.float32]

_HOME_SLOTS = 24
WINDOWS = ((0, 1), (0, 4), (3, 3), (8, 8), (16, 16))
BOXES = 3
POSITION_REALS = BOXES * len(WINDOWS) + 3
OPEN_REALS = 8


def boxes(midis: npt.NDArray[np.int_], reach: Reach) -> Floats:
    """Return (box, midi, position): 1 where a pitch lies under the hand.

    Boxes: four frets; four frets or an open string; five frets from one below the position.
    """
    position = np.arange(MAX_POSITION + 2)
    out = np.zeros((BOXES, len(midis), MAX_POSITION + 2), dtype=np.float32)
    for string in reach.strings:
        fret = midis - reach.open_midi[string - 1]
        ok = (fret > 0) & (fret <= reach.top_frets[string - 1])
        physical = fret + reach.offsets[string - 1]
        above = physical[:, None] - position[None, :]
        inside = ok[:, None] & (above >= 0) & (above <= 3)
        out[0] = np.maximum(out[0], inside)
        out[2] = np.maximum(out[2], ok[:, None] & (above >= -1) & (above <= 4))
        if not reach.closed:
            inside = inside | (fret == 0)[:, None]
        out[1] = np.maximum(out[1], inside)
    return out


def windowed(values: Floats, before: int, after: int) -> Floats:
    """Return the sums of rows from ``before`` rows back to ``after`` rows on."""
    total = np.concatenate([np.zeros_like(values[:1]), np.cumsum(values, axis=0)])
    rows = np.arange(len(values))
    sums: Floats = (
        total[np.minimum(rows + after + 1, len(values))] - total[np.maximum(rows - before, 0)]
    )
    return sums


def position_context(
    slots: tuple[Slot, ...], sounds: tuple[HandSound, ...], reach: Reach
) -> tuple[Floats, Floats]:
    """Return features of each slot and position, and features of open strings at each slot.

    Shapes: (slots, MAX_POSITION + 2, POSITION_REALS) and (slots, OPEN_REALS).
    """
    count = len(slots)
    midis = np.array([sound.midi for sound in sounds], dtype=np.int_)
    slot_of = np.repeat(np.arange(count), [len(slot.new) for slot in slots])
    order = np.concatenate([np.array(slot.new, dtype=np.int_) for slot in slots])
    box = boxes(midis, reach)[:, order]
    per_slot = np.zeros((BOXES, count, MAX_POSITION + 2), dtype=np.float32)
    for number in range(BOXES):
        np.add.at(per_slot[number], slot_of, box[number])
    notes = np.bincount(slot_of, minlength=count).astype(np.float32)
    position = np.zeros((count, MAX_POSITION + 2, POSITION_REALS), dtype=np.float32)
    column = 0
    for before, after in WINDOWS:
        size = windowed(notes, before, after)
        for number in range(BOXES):
            share = windowed(per_slot[number], before, after) / size[:, None]
            position[:, :, column] = share
            column += 1
            if number == 1 and (before, after) in {(0, 4), (3, 3), (8, 8)}:
                position[:, :, POSITION_REALS - 3 + (after == 4) + 2 * (after == 8)] = (
                    share > 1 - 1e-4
                )
    opens = _open_context(midis[order], slot_of, notes, reach)
    return position, opens


def at_home(slots: tuple[Slot, ...], sounds: tuple[HandSound, ...], reach: Reach) -> Floats:
    """Return 1 for each slot with nothing around it that leaves the first four frets, else 0.

    Such music is played in the first positions (common practice); editors do not mark it, so that
    their marks cannot teach it.
    """
    top = home_top(reach)
    leaves = np.array(
        [max(sounds[index].midi for index in slot.new) > top for slot in slots], dtype=np.float32
    )
    return 1.0 - _spread_max(leaves, _HOME_SLOTS)


def is_plain(slots: tuple[Slot, ...]) -> Floats:
    """Return 1 for each slot with one note at a time all around it, as a tune has it, else 0.

    What rings by the hand's own choice is no second voice.
    """
    several = np.array(
        [len(slot.new) + slot.ringing.count(False) > 1 for slot in slots], dtype=np.float32
    )
    return 1.0 - _spread_max(several, _HOME_SLOTS)


def _open_context(
    midis: npt.NDArray[np.int_], slot_of: npt.NDArray[np.int_], notes: Floats, reach: Reach
) -> Floats:
    count = len(notes)
    classes = np.zeros((count, 12), dtype=np.float32)
    np.add.at(classes, (slot_of, midis % 12), 1.0)
    around = windowed(classes, 24, 24)
    around /= np.maximum(around.sum(axis=1, keepdims=True), 1.0)
    open_classes = sorted({midi % 12 for midi in reach.open_midi})
    flats = [(midi + step) % 12 for midi in open_classes for step in (1, 11)]
    flats = sorted(set(flats) - set(open_classes))
    openable = np.isin(midis, reach.open_midi).astype(np.float32)
    share = np.zeros((count, 1), dtype=np.float32)
    np.add.at(share[:, 0], slot_of, openable)
    top = np.full(count, 0.0, dtype=np.float32)
    np.maximum.at(top, slot_of, midis - max(reach.open_midi) + 24.0)
    mean = np.zeros((count, 1), dtype=np.float32)
    np.add.at(mean[:, 0], slot_of, midis.astype(np.float32) - min(reach.open_midi))
    mean = windowed(mean, 4, 4) / windowed(notes, 4, 4)[:, None]
    high = _spread_max(top, 4) - 24.0
    return np.stack(
        [
            np.ones(count, dtype=np.float32),
            around[:, open_classes].sum(axis=1),
            around[:, flats].sum(axis=1),
            windowed(share, 8, 8)[:, 0] / windowed(notes, 8, 8),
            np.clip(high / 12.0, -2, 2),
            np.clip((mean[:, 0] - 12.0) / 12.0, -2, 2),
            (high <= 3).astype(np.float32),
            (high > 8).astype(np.float32),
        ],
        axis=1,
    ).astype(np.float32)


def _spread_max(values: Floats, reach: int) -> Floats:
    """Return the highest value from ``reach`` rows back to ``reach`` rows on."""
    out = values.copy()
    for shift in range(1, min(reach, len(values) - 1) + 1):
        out[shift:] = np.maximum(out[shift:], values[:-shift])
        out[:-shift] = np.maximum(out[:-shift], values[shift:])
    return out
