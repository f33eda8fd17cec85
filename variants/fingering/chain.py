"""From a passage to a chain of layers: the states of each slot, scored, bounded and joined."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from variants.fingering.answer import UnplayableOnset
from variants.fingering.features import CHORD
from variants.fingering.lattice import Block, Blocks, blocks_for
from variants.fingering.model import Model
from variants.fingering.passage import Passage, Settings
from variants.fingering.scoring import Around, Scores
from variants.fingering.sounds import HandSound, Slot, only_sounds, sounds_of
from variants.fingering.tables import time_class
from variants.guitar.grip import Reach
from variants.guitar.hand import Hand
from variants.guitar.neck import span_mm
from variants.music import Key, spelled

Floats = npt.NDArray[np.float32]
Rows = npt.NDArray[np.intp]
Bools = npt.NDArray[np.bool_]

# What a note's finger does is string * 8 + finger.
_HOLDS = 512


@dataclass(frozen=True, slots=True)
class Layer:
    """The states of one slot with their scores, and how they join the slot before.

    Args:
        slot: The slot.
        block: Its states.
        own: Score of each state by itself, apart from the notes around.
        unary: Score of each state in its context.
        held: For each held note: its column here and in the slot before.
        slurs: For each slurred new note: its column here and that of its note before.
        again: For each note of a held broken chord that comes again: its column here and before.
        time: Time class of the move into the slot.
    """

    slot: Slot
    block: Block
    own: Floats
    unary: Floats
    held: tuple[tuple[int, int], ...]
    slurs: tuple[tuple[int, int], ...]
    again: tuple[tuple[int, int], ...]
    time: int

    def rows(self, keep: Rows) -> Layer:
        """Return the layer with some of its states."""
        return replace(
            self, block=self.block.rows(keep), own=self.own[keep], unary=self.unary[keep]
        )


@dataclass(frozen=True, slots=True)
class Chain:
    """All layers of a passage, with what the moves between them need."""

    passage: Passage
    sounds: tuple[HandSound, ...]
    layers: tuple[Layer, ...]
    reach: Reach
    blocks: Blocks

    def real_mm(self, low: int, high: int) -> float:
        """Return the mm between two frets counted from the capo, never negative."""
        capo, scale = self.passage.capo, self.passage.scale_length_mm
        return span_mm(low + capo, high + capo, scale_length_mm=scale)


def reach_of(passage: Passage, settings: Settings) -> Reach:
    """Return what the hand may do on the instrument of a passage under the settings."""
    strings = len(passage.tuning_midi)
    # A capo shortens a short string as much as the others, on a peg or spike of its own.
    offsets = passage.first_frets or (0,) * strings
    highest = passage.frets - passage.capo
    tops = tuple(
        min(highest - offset, 99 if settings.max_fret is None else settings.max_fret)
        for offset in offsets
    )
    allowed = settings.allowed_strings or tuple(range(1, strings + 1))
    return Reach(
        open_midi=passage.open_midi,
        top_frets=tops,
        offsets=offsets,
        scale_mm=passage.scale_length_mm,
        hand=Hand.of(settings.hand),
        strings=tuple(string for string in sorted(set(allowed)) if 1 <= string <= strings),
        max_span_frets=99 if settings.max_span_frets is None else settings.max_span_frets,
        barres=settings.barres,
        fingers=tuple(sorted(set(settings.fingers) & {1, 2, 3, 4})),
        thumb=settings.thumb,
        closed=settings.closed,
    )


def chain_of(
    passage: Passage, settings: Settings, model: Model, *, blocks: Blocks | None = None
) -> Chain:
    """Return the chain of a passage.

    Args:
        passage: The notes and the instrument.
        settings: Hand, limits and wishes.
        model: The weights.
        blocks: States made before for the same instrument and limits, to be made once only.

    Raises:
        Unplayable: No hand can play the new notes of a slot within the limits.
    """
    reach = reach_of(passage, settings)
    sounds, slots = sounds_of(passage, grips=reach if settings.holds_chords else None)
    known = blocks_for(reach) if blocks is None or blocks.reach != reach else blocks
    known.trim()
    around = Around(slots, sounds, reach)
    usual, full = (Scores(one, around, settings) for one in (model, model.for_chords()))
    # Each block is kept beside its scores: were it forgotten meanwhile (by the chain of another
    # thread), a new block could get its id.
    own: dict[int, tuple[Block, Floats]] = {}
    layers: list[Layer] = []
    for number, slot in enumerate(slots):
        block = known.of(slot, sounds)
        if block is None:
            raise _unplayable(slot, sounds, passage, _why_not(slot, sounds, reach))
        scores = full if len(slot.new) >= CHORD else usual
        if id(block) not in own:
            own[id(block)] = block, scores.own(block)
        alone = own[id(block)][1]
        unary = alone + scores.context(block, number)
        before = layers[-1] if layers else None
        layer = _joined(slot, block, (alone, unary), before=before, sounds=sounds)
        layers.append(_bounded(_wished(layer, sounds, passage, settings), before, settings))
    return Chain(passage, sounds, tuple(layers), reach, known)


def _wished(
    layer: Layer, sounds: tuple[HandSound, ...], passage: Passage, settings: Settings
) -> Layer:
    """Keep the states that have the places, fingers and positions asked for."""
    keep = _as_asked(layer, columns_of(layer.slot), sounds, passage)
    if settings.positions is not None:
        keep &= np.isin(layer.block.grips.position, settings.positions)
    if keep.all():
        return layer
    if not keep.any():
        raise _unplayable(layer.slot, sounds, passage, "the places asked for cannot be held")
    rows = np.nonzero(keep)[0]
    return layer.rows(rows)


def _as_asked(
    layer: Layer, columns: tuple[int, ...], sounds: tuple[HandSound, ...], passage: Passage
) -> npt.NDArray[np.bool_]:
    """Return which states have the places and fingers asked for."""
    keep = np.ones(len(layer.block), dtype=np.bool_)
    for column, index in enumerate(columns):
        if not sounds[index].is_free:
            is_new = column < len(layer.slot.new)
            for _, holds in wishes_of(layer.block, column, sounds[index], passage, is_new=is_new):
                keep &= holds
    return keep


def wishes_of(
    block: Block, column: int, sound: HandSound, passage: Passage, *, is_new: bool
) -> Iterator[tuple[str, Bools]]:
    """Yield each wish for a sound by its kind, with the states that fulfil it.

    A held note that is let go fulfils all of its own. What is wished of the hand is wished of it
    as the note is struck.

    Args:
        block: The states.
        column: The sound's column in them.
        sound: The sound.
        passage: The passage.
        is_new: Whether it is struck here.
    """
    grips = block.grips
    up = grips.strings[:, column] == 0
    if sound.string or sound.fret >= 0:
        holds = np.ones(len(block), dtype=np.bool_)
        if sound.string:
            holds &= grips.strings[:, column] == sound.string
        if sound.fret >= 0:
            holds &= tab_frets(block, column, passage) == sound.fret
        yield "place", holds | up
    if sound.not_at:
        here = np.zeros(len(block), dtype=np.bool_)
        for string, fret in sound.not_at:
            on_string = grips.strings[:, column] == string
            here |= on_string & (tab_frets(block, column, passage) == fret)
        yield "not here", ~here
    if sound.finger >= 0:
        yield "finger", (grips.fingers[:, column] == sound.finger) | up
    if is_new and sound.position:
        yield "position", grips.position == sound.position
    if is_new and sound.barre >= 0:
        yield "barre", _barred(block, sound.barre)


def _barred(block: Block, fret: int) -> Bools:
    """Return the states with a barre at a fret (0: with none).

    Where a state stops one note alone, finger 1 at that fret stands for it.
    """
    grips = block.grips
    stopped = grips.fingers > 0
    same = np.zeros(len(block), dtype=np.bool_)
    for one in range(grips.fingers.shape[1]):
        for other in range(one):
            both = stopped[:, one] & (grips.fingers[:, one] == grips.fingers[:, other])
            same |= both & ((grips.frets[:, one] == fret) | (fret == 0))
    if not fret:
        return ~same
    alone = stopped.sum(axis=1) == 1
    first = ((grips.fingers == 1) & (grips.frets == fret)).any(axis=1)
    found: Bools = same | (alone & first)
    return found


def columns_of(slot: Slot) -> tuple[int, ...]:
    """Return the sounds that the columns of a slot's block stand for: new ones, then held ones."""
    return (*slot.new, *slot.held)


def held_to(chain: Chain, passage: Passage) -> Chain:
    """Return a chain held to the wishes of ``passage``, which differs from its own in those only.

    States that have other places stay in it with a score that no path survives.
    """
    sounds = only_sounds(passage)
    layers = []
    for layer in chain.layers:
        keep = _as_asked(layer, layer.slot.new, sounds, passage)
        unary = layer.unary if keep.all() else np.where(keep, layer.unary, np.float32(-1e9))
        layers.append(replace(layer, unary=unary))
    return replace(chain, layers=tuple(layers))


def tab_frets(block: Block, column: int, passage: Passage) -> npt.NDArray[np.int16]:
    """Return the frets of a column of a block as tab counts them."""
    frets = block.grips.frets[:, column]
    if not passage.first_frets:
        return frets
    offset = np.array([0, *passage.first_frets], dtype=np.int16)[block.grips.strings[:, column]]
    result: npt.NDArray[np.int16] = np.where(frets > 0, frets - offset, 0).astype(np.int16)
    return result


def _joined(
    slot: Slot,
    block: Block,
    scores: tuple[Floats, Floats],
    *,
    before: Layer | None,
    sounds: tuple[HandSound, ...],
) -> Layer:
    columns = {index: column for column, index in enumerate(columns_of(slot))}
    earlier: dict[int, int] = {}
    if before is not None:
        earlier = {index: column for column, index in enumerate(columns_of(before.slot))}
    held = tuple((columns[index], earlier[index]) for index in slot.held)
    slurs = tuple(
        (columns[index], earlier[sounds[index].before])
        for index in slot.new
        if sounds[index].before in earlier
    )
    again = tuple(
        (columns[index], column)
        for index in slot.new
        for other, column in earlier.items()
        if slot.broken and other not in columns and sounds[other].midi == sounds[index].midi
    )
    time = time_class(slot.seconds, rest=slot.rest)
    return Layer(slot, block, *scores, held=held, slurs=slurs, again=again, time=time)


def _bounded(layer: Layer, before: Layer | None, settings: Settings) -> Layer:
    """Keep the states that can be come to, and of those the best few.

    Some states that let the held notes go are always among them, so that there is a way on.
    """
    block = layer.block
    possible = np.ones(len(block), dtype=np.bool_)
    free = np.ones(len(block), dtype=np.bool_)
    for here, there in layer.held:
        now = block.hold[:, here]
        free &= now == 0
        if before is not None:
            seen = np.zeros(_HOLDS, dtype=np.bool_)
            seen[before.block.hold[:, there]] = True
            seen[0] = True
            possible &= seen[now]
    if possible.all() and len(block) <= settings.beam:
        return layer
    scores = np.where(possible, layer.unary, -np.inf)
    keep = np.argsort(-scores, kind="stable")[: settings.beam]
    keep = keep[possible[keep]]
    if layer.held and not free[keep].any():
        loose = np.where(possible & free, layer.unary, -np.inf)
        keep = np.concatenate([keep, np.argsort(-loose, kind="stable")[:4]])
    return layer.rows(np.sort(keep))


def _unplayable(
    slot: Slot, sounds: tuple[HandSound, ...], passage: Passage, cause: str
) -> UnplayableOnset:
    heads = tuple(sounds[index].heads[0] for index in slot.new)
    wished = cause.startswith("the places")
    return UnplayableOnset(
        cause,
        place=passage.place_of(slot.onset),
        way_out="ask for fewer of them"
        if wished
        else "put reduce-chords or fold-octaves before it, or retune",
        onset=slot.onset,
        measure=passage.notes[heads[0]].measure,
        notes=heads,
    )


def _why_not(slot: Slot, sounds: tuple[HandSound, ...], reach: Reach) -> str:
    midis = [sounds[index].midi for index in slot.new]
    names = [str(spelled(midi, Key(0))) for midi in midis]
    strings = [{string for string, _ in reach.places(midi)} for midi in midis]
    for name, own in zip(names, strings, strict=True):
        if not own:
            return (
                f"{name} is on no string within the limits; the instrument sounds {_range(reach)}"
            )
    if len(midis) > len(reach.strings):
        return f"{len(midis)} notes at once on {len(reach.strings)} strings"
    for index, own in enumerate(strings):
        for other in range(index):
            if len(own) == 1 and strings[other] == own:
                return f"{names[other]} and {names[index]} both lie on string {min(own)} alone"
    widest_mm = max(reach.hand.span_mm)
    return f"{', '.join(names)} lie too far apart for one hand ({widest_mm:g} mm at most)"


def _range(reach: Reach) -> str:
    low = min(reach.open_midi)
    high = max(midi + top for midi, top in zip(reach.open_midi, reach.top_frets, strict=True))
    return f"{spelled(low, Key(0))} to {spelled(high, Key(0))}"
