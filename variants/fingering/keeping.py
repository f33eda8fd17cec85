"""Places and fingers that are given hold as far as a hand can hold them; the rest is let go, told.

What somebody has decided stays: each string, fret and finger that stands on a note is a hard wish
for the search. Where the wishes of one moment cannot be held together, as many as can be are kept:
first those that are firm (pins), then places, from the lowest note up, then fingers.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import numpy.typing as npt

from variants.fingering.answer import UnplayableOnset, roman
from variants.fingering.chain import columns_of, reach_of, wishes_of
from variants.fingering.lattice import Block, blocks_for
from variants.fingering.passage import HandPin, Passage, Settings
from variants.fingering.sounds import HandSound, Slot, sounds_of

_Mask = npt.NDArray[np.bool_]
# What a note has where a wish of a kind is let go.
_NOTHING: dict[str, dict[str, Any]] = {
    "place": {"string": None, "fret": None},
    "finger": {"finger": None},
    "position": {"position": None},
    "barre": {"barre": None},
    "not here": {"not_at": ()},
}


@dataclass(frozen=True, slots=True)
class Loosened:
    """A wish that could not be kept.

    Args:
        note: Index of the first head of the note in the passage.
        what: ``place``, ``finger``, or of a pin ``not here``, ``position`` or ``barre``.
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
    passage: Passage, settings: Settings, *, pins: Mapping[int, HandPin] | None = None
) -> tuple[Passage, tuple[Loosened, ...]]:
    """Return the passage with the wishes that can be kept, and those that were let go.

    Args:
        passage: The passage; the wishes, those of pins too, are on its notes.
        settings: Hand, limits and wishes.
        pins: By the index of a note what is pinned there; what is firm is never let go.

    Raises:
        UnplayableOnset: Firm wishes of one moment cannot be held together.
    """
    reach = reach_of(passage, settings)
    sounds, slots = sounds_of(passage, grips=reach if settings.holds_chords else None)
    known = blocks_for(reach)
    known.trim()
    firm = {n: pin.kinds for n, pin in (pins or {}).items() if pin.is_firm}
    gone: dict[tuple[int, str], Loosened] = {}
    for slot in slots:
        block = known.of(slot, sounds)
        if block is None:
            continue  # the search says what is wrong
        wishes = [
            wish
            for wish in _wishes(slot, sounds, block, passage=passage, firm=firm)
            if (wish.sound, wish.what) not in gone
        ]
        for wish in _let_go(wishes, slot, sounds, passage, within=_allowed(block, settings)):
            sound = sounds[wish.sound]
            text = _text(sound, wish.what)
            gone[wish.sound, wish.what] = Loosened(sound.heads[0], wish.what, text)
    if not gone:
        return passage, ()
    return _without(passage, sounds, gone), tuple(gone.values())


def _allowed(block: Block, settings: Settings) -> _Mask | None:
    """Return the states that stand in a position that is allowed, if any does."""
    if settings.positions is None:
        return None
    found: _Mask = np.isin(block.grips.position, settings.positions)
    return found if found.any() else None


def _wishes(
    slot: Slot,
    sounds: tuple[HandSound, ...],
    block: Block,
    *,
    passage: Passage,
    firm: Mapping[int, frozenset[str]],
) -> Iterator[_Wish]:
    """Yield the wishes of a slot."""
    for column, index in enumerate(columns_of(slot)):
        sound = sounds[index]
        is_new = column < len(slot.new)
        for what, holds in wishes_of(block, column, sound, passage, is_new=is_new):
            is_firm = any(what in firm.get(head, ()) for head in sound.heads)
            yield _Wish(index, what, is_firm, holds)


def _let_go(
    wishes: Iterable[_Wish],
    slot: Slot,
    sounds: tuple[HandSound, ...],
    passage: Passage,
    *,
    within: _Mask | None,
) -> Iterator[_Wish]:
    """Yield the wishes that cannot be held beside those that come before them.

    Raises:
        UnplayableOnset: One of them is firm.
    """
    left = within
    order = sorted(
        wishes, key=lambda one: (not one.is_firm, one.what != "place", sounds[one.sound].midi)
    )
    for wish in order:
        both = wish.holds if left is None else left & wish.holds
        if both.any():
            left = both
        elif wish.is_firm:
            raise _cannot_join(wish, slot, sounds, passage, is_alone=not wish.holds.any())
        else:
            yield wish


def _cannot_join(
    wish: _Wish,
    slot: Slot,
    sounds: tuple[HandSound, ...],
    passage: Passage,
    *,
    is_alone: bool,
) -> UnplayableOnset:
    heads = tuple(sounds[index].heads[0] for index in slot.new)
    text = _text(sounds[wish.sound], wish.what)
    return UnplayableOnset(
        f"no hand can hold the pin to {text} {'here' if is_alone else 'beside the others here'}",
        place=passage.place_of(slot.onset),
        way_out="take it away or change it"
        if is_alone
        else "take one of the pins at this moment away",
        onset=slot.onset,
        measure=passage.notes[heads[0]].measure,
        notes=heads,
    )


def _text(sound: HandSound, what: str) -> str:
    if what == "finger":
        return f"finger {sound.finger}" if sound.finger < 5 else "the thumb"
    if what == "position":
        return f"position {roman(sound.position)}"
    if what == "barre":
        return f"a barre at fret {sound.barre}" if sound.barre else "no barre"
    if what == "not here":
        return "not " + " or ".join(_place_text(*place) for place in sound.not_at)
    return _place_text(sound.string, sound.fret)


def _place_text(string: int, fret: int) -> str:
    if not string:
        return f"fret {fret}"
    return f"string {string}" + (f", fret {fret}" if fret >= 0 else "")


def _without(
    passage: Passage, sounds: tuple[HandSound, ...], gone: Collection[tuple[int, str]]
) -> Passage:
    notes = list(passage.notes)
    for index, what in gone:
        for head in sounds[index].heads:
            notes[head] = replace(notes[head], **_NOTHING[what])
    return replace(passage, notes=tuple(notes))
