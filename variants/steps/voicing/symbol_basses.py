"""Chord symbols whose lowest note has changed: C5 with the fifth below is C5/G."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from variants.music import Pitch
from variants.score import Change, Harmony, Part
from variants.score.timeline import Moment
from variants.steps.framework.log import Scribe
from variants.steps.wording.words import symbol_text


def with_basses(
    part: Part, basses: Mapping[Moment, tuple[Pitch, Pitch]], log: Scribe
) -> tuple[Part, list[Change]]:
    """Return the part with the basses of its chord symbols as the notes have them now.

    A symbol is changed where it stands at a moment of which the lowest note has changed, if it
    named the old one. Its diagram goes: it shows the old shape.

    Args:
        part: The part.
        basses: Old and new lowest note by moment.
        log: Writes the lines.
    """
    lines: list[Change] = []
    measures = []
    for index, measure in enumerate(part.measures):
        harmonies = []
        for one in measure.harmonies:
            new = _with_bass(one, basses.get((index, one.onset, 0)))
            if new != one:
                lines.append(log.at(index, one.onset, _text(one, new)))
            harmonies.append(new)
        same = tuple(harmonies) == measure.harmonies
        measures.append(measure if same else replace(measure, harmonies=tuple(harmonies)))
    return (replace(part, measures=tuple(measures)) if lines else part), lines


def _with_bass(one: Harmony, pair: tuple[Pitch, Pitch] | None) -> Harmony:
    if pair is None or one.root is None or one.xml:
        return one
    old, low = pair
    if Pitch(*(one.bass or one.root), 4).pitch_class != old.pitch_class:
        return one
    is_root = Pitch(*one.root, 4).pitch_class == low.pitch_class
    return replace(one, bass=None if is_root else (low.letter, int(low.alter)), frame="")


def _text(old: Harmony, new: Harmony) -> str:
    gone = "; its diagram is dropped" if old.frame else ""
    return f"the chord symbol {symbol_text(old)} is {symbol_text(new)} now{gone}"
