"""Finger a passage: the best answer under the model, and the next best."""

from __future__ import annotations

from dataclasses import replace

from variants.fingering.alike import one_fingering
from variants.fingering.answer import Fingered
from variants.fingering.chain import Chain, chain_of, held_to
from variants.fingering.describe import answer, places
from variants.fingering.lattice import Blocks
from variants.fingering.model import Model, fitted
from variants.fingering.passage import Passage, Settings
from variants.fingering.repeats import equal_measures, settled
from variants.fingering.search import (
    NEVER,
    Floats,
    all_moves,
    best_path,
    best_paths,
    rewarded,
    shares_of,
)

# How many more paths than asked for are looked at: many differ only in where an idle hand waits.
_PATHS_AN_ANSWER = 12
_MOST_PATHS = 96


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
    chain, between = prepared(passage, settings, used)
    path, _ = best_path([layer.unary for layer in chain.layers], between)
    if settings.is_usual:
        chain = one_fingering(chain, path)
        path, _ = best_path([layer.unary for layer in chain.layers], between)
    alike = settled(passage, places(chain, path)) if settings.repeat_alike else None
    if alike is not None:
        chain, between, path = _repeated(chain, between, alike, settings=settings, model=used)
    return answer(chain, path, between)


def _repeated(
    chain: Chain, between: list[Floats], alike: Passage, *, settings: Settings, model: Model
) -> tuple[Chain, list[Floats], list[int]]:
    """Return the best path among those that finger equal measures alike.

    Only where the bounded search has dropped the states for that is the chain made anew.
    """
    kept = held_to(chain, alike)
    path, score = best_path([layer.unary for layer in kept.layers], between)
    if score > NEVER / 2:
        return kept, between, path
    anew, moves = prepared(alike, settings, model, blocks=chain.blocks)
    return anew, moves, best_path([layer.unary for layer in anew.layers], moves)[0]


def solve_many(
    passage: Passage, settings: Settings, count: int, *, model: Model | None = None
) -> tuple[Fingered, ...]:
    """Return up to ``count`` fingerings that differ in a place or a finger, the best first.

    Raises:
        UnplayableOnset: No hand can play an onset within the limits.
    """
    if not passage.notes or count < 1:
        return ()
    used = fitted() if model is None else model
    first = solve(passage, settings, used)
    found = {first.notes: first}
    whole, between = prepared(passage, settings, used)
    for asked in _alike(passage, settings, first):
        chain = whole if asked is passage else held_to(whole, asked)
        wanted = min(_MOST_PATHS, count * _PATHS_AN_ANSWER)
        for path in best_paths([layer.unary for layer in chain.layers], between, wanted):
            other = answer(chain, path, between)
            if not settings.repeat_alike or settled(passage, other.notes) is None:
                found.setdefault(other.notes, other)
    return tuple(sorted(found.values(), key=lambda fingered: fingered.cost)[:count])


def _alike(passage: Passage, settings: Settings, first: Fingered) -> tuple[Passage, ...]:
    """Return the passages to search: as it is, and with its equal measures held as in ``first``.

    Without the second, most of the next best answers to a piece with repeated measures would
    differ in one of the repeats only, and be left out for that.
    """
    groups = equal_measures(passage) if settings.repeat_alike else []
    held = {index for group in groups for rows in group for index in rows}
    if not held:
        return (passage,)
    notes = tuple(
        replace(note, string=place.string, fret=place.fret, finger=place.finger)
        if index in held
        else note
        for index, (note, place) in enumerate(zip(passage.notes, first.notes, strict=True))
    )
    return passage, replace(passage, notes=notes)


def prepared(
    passage: Passage, settings: Settings, model: Model, *, blocks: Blocks | None = None
) -> tuple[Chain, list[Floats]]:
    """Return the chain that is searched and the scores of its moves."""
    chain = chain_of(passage, settings, model, blocks=blocks)
    between = all_moves(chain, model)
    return rewarded(chain, shares_of(chain, between)), between


class Judge:
    """Says what a fingering costs among all fingerings of a passage, whatever it was made under.

    A search under narrower limits knows fewer ways, so that its own costs say nothing of others.

    Args:
        passage: The notes and the instrument.
        settings: Hand, limits and wishes.
        model: The weights.

    Raises:
        UnplayableOnset: No hand can play an onset within the limits.
    """

    def __init__(self, passage: Passage, settings: Settings, model: Model) -> None:
        self._passage, self._settings, self._model = passage, settings, model
        chain = chain_of(passage, settings, model)
        self._shares = shares_of(chain, all_moves(chain, model))
        self._blocks = chain.blocks

    def judged(self, fingered: Fingered) -> Fingered:
        """Return the fingering with its costs among all.

        Raises:
            UnplayableOnset: The fingering is not within the limits.
        """
        notes = tuple(
            replace(note, string=place.string, fret=place.fret, finger=place.finger)
            for note, place in zip(self._passage.notes, fingered.notes, strict=True)
        )
        asked = replace(self._passage, notes=notes)
        chain = chain_of(asked, self._settings, self._model, blocks=self._blocks)
        between = all_moves(chain, self._model)
        chain = rewarded(chain, self._shares)
        return answer(
            chain, best_path([layer.unary for layer in chain.layers], between)[0], between
        )
