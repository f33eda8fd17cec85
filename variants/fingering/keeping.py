"""Places and fingers that are given hold as far as a hand can hold them; the rest is let go, told.

What somebody has decided stays: each string, fret and finger that stands on a note is a hard wish
for the search. Where the wishes of one moment cannot be held together, as many as can be are kept:
first those that are firm (pins), then places, from the lowest note up, then fingers.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from variants.fingering.answer import UnplayableOnset
from variants.fingering.chain import columns_of, reach_of, tab_frets
from variants.fingering.lattice import Block, blocks_for
from variants.fingering.passage import Passage, Settings
from variants.fingering.sounds import HandSound, Slot, sounds_of

_Mask = npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Loosened:
    """A wish that could not be kept.

    Args:
        note: Index of the first head of the note in the passage.
        what: ``place`` or ``finger``.
        text: What was wished: ``string 2, fret 3`` or ``finger 4``.
    """

    note: int
    what: str
    text: str


@dataclass(frozen=True, slots=True)
class _Wish:
    """One wish at a slot, with the states that fulfil it."""

    sound: int
    what: str
    is_firm: bool
    holds: _Mask


def loosened(
    passage: Passage, settings: Settings, *, firm: Collection[int] = ()
) -> tuple[Passage, tuple[Loosened, ...]]:
    """Return the passage with the wishes that can be kept, and those that were let go.

    Args:
        passage: The passage; the wishes are on its notes.
        settings: Hand, limits and wishes.
        firm: Indices of notes whose wishes are pins: they are never let go.

    Raises:
        UnplayableOnset: Firm wishes of one moment cannot be held together.
    """
    sounds, slots = sounds_of(passage)
    known = blocks_for(reach_of(passage, settings))
    known.trim()
    gone: dict[tuple[int, str], Loosened] = {}
    for slot in slots:
        block = known.of(slot, sounds)
        if block is None:
            continue  # the search says what is wrong
        wishes = [
            wish
            for wish in _wishes(slot, sounds, block, passage=passage, firm=set(firm))
            if (wish.sound, wish.what) not in gone
        ]
        for wish in _let_go(wishes, slot, sounds, passage):
            sound = sounds[wish.sound]
            text = _text(sound, wish.what)
            gone[wish.sound, wish.what] = Loosened(sound.heads[0], wish.what, text)
    if not gone:
        return passage, ()
    return _without(passage, sounds, gone), tuple(gone.values())


def _wishes(
    slot: Slot, sounds: tuple[HandSound, ...], block: Block, *, passage: Passage, firm: set[int]
) -> Iterator[_Wish]:
    """Yield the wishes of a slot; a held note that is let go fulfils all of its own."""
    grips = block.grips
    for column, index in enumerate(columns_of(slot)):
        sound = sounds[index]
        up = grips.strings[:, column] == 0
        is_firm = not firm.isdisjoint(sound.heads)
        if sound.string or sound.fret >= 0:
            holds = np.ones(len(block), dtype=np.bool_)
            if sound.string:
                holds &= grips.strings[:, column] == sound.string
            if sound.fret >= 0:
                holds &= tab_frets(block, column, passage) == sound.fret
            yield _Wish(index, "place", is_firm, holds | up)
        if sound.finger >= 0:
            yield _Wish(index, "finger", is_firm, (grips.fingers[:, column] == sound.finger) | up)


def _let_go(
    wishes: Iterable[_Wish], slot: Slot, sounds: tuple[HandSound, ...], passage: Passage
) -> Iterator[_Wish]:
    """Yield the wishes that cannot be held beside those that come before them.

    Raises:
        UnplayableOnset: One of them is firm.
    """
    left: _Mask | None = None
    order = sorted(
        wishes, key=lambda one: (not one.is_firm, one.what == "finger", sounds[one.sound].midi)
    )
    for wish in order:
        both = wish.holds if left is None else left & wish.holds
        if both.any():
            left = both
        elif wish.is_firm:
            raise _cannot_join(wish, slot, sounds, passage)
        else:
            yield wish


def _cannot_join(
    wish: _Wish, slot: Slot, sounds: tuple[HandSound, ...], passage: Passage
) -> UnplayableOnset:
    heads = tuple(sounds[index].heads[0] for index in slot.new)
    text = _text(sounds[wish.sound], wish.what)
    return UnplayableOnset(
        f"no hand can hold the pin to {text} beside the others here",
        place=passage.place_of(slot.onset),
        way_out="take one of the pins at this moment away",
        onset=slot.onset,
        measure=passage.notes[heads[0]].measure,
        notes=heads,
    )


def _text(sound: HandSound, what: str) -> str:
    if what == "finger":
        return f"finger {sound.finger}" if sound.finger < 5 else "the thumb"
    if not sound.string:
        return f"fret {sound.fret}"
    return f"string {sound.string}" + (f", fret {sound.fret}" if sound.fret >= 0 else "")


def _without(
    passage: Passage, sounds: tuple[HandSound, ...], gone: Collection[tuple[int, str]]
) -> Passage:
    notes = list(passage.notes)
    for index, what in gone:
        for head in sounds[index].heads:
            if what == "place":
                notes[head] = replace(notes[head], string=None, fret=None)
            else:
                notes[head] = replace(notes[head], finger=None)
    return replace(passage, notes=tuple(notes))
