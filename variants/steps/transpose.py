"""Transposition: every part by one interval, spelled on the line of fifths."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import ClassVar

from variants.contract import Promise
from variants.errors import UsageError
from variants.music import UNISON, Interval, Key
from variants.score import Change, Part, Score, key_at_start, with_changes, with_parts
from variants.steps.framework.log import count
from variants.steps.framework.reading import choice, one_of, whole
from variants.steps.framework.registry import parameter, register
from variants.steps.moves.intervals import (
    fitted,
    heights,
    octaves,
    printable_interval,
    spelled,
    to_key,
)
from variants.steps.moves.moving import move_part
from variants.steps.wording.words import moved_words

NAME = "transpose"
_MOST_SEMITONES = 48


@register(
    NAME,
    examples=(
        "transpose:interval=m3",
        "transpose:semitones=-2,octave=fit",
        "transpose:interval=-P4",
    ),
)
@dataclass(frozen=True, slots=True, kw_only=True)
class Transpose:
    """Move every note, key signature and chord symbol by one interval.

    Exactly one of ``interval``, ``semitones`` and ``key`` says how far; with ``octave="fit"``
    none is needed. Notes are spelled by their interval. Where a key signature would need more
    than seven signs the enharmonic interval is used for everything. Places on the neck and
    fingers are erased, chord diagrams dropped. Unpitched parts stay as they are.

    Args:
        interval: The interval, downward if negative.
        semitones: The distance; the spelling is the one with the simplest key signature, or
            without a signature the one with the fewest accidentals.
        key: The key to go to from the first key signature.
        direction: With ``key``: ``nearest``, ``up`` or ``down``.
        octave: ``fit`` adds the octaves that let the instruments play most notes, ``keep``
            adds none; empty is ``fit`` with ``key`` and ``keep`` otherwise.

    Raises:
        UsageError: None or several of the three are given, or a value is out of range.

    >>> Transpose(interval=Interval.parse("m3")).interval_for(Score(1, ())).semitones
    3
    """

    interval: Interval | None = field(
        default=None,
        metadata=parameter("how far, by name", values="m3, -P4, M2, A4, ...", read=Interval.parse),
    )
    semitones: int | None = field(
        default=None,
        metadata=parameter(
            "how far, in semitones",
            values=f"-{_MOST_SEMITONES} to {_MOST_SEMITONES}",
            read=whole(min_value=-_MOST_SEMITONES, max_value=_MOST_SEMITONES),
        ),
    )
    key: Key | None = field(
        default=None,
        metadata=parameter("key to go to", values="E minor, Bb major, ...", read=Key.parse),
    )
    direction: str = field(
        default="nearest",
        metadata=parameter(
            "way to that key",
            values="nearest|up|down",
            read=choice("nearest", "up", "down"),
        ),
    )
    octave: str = field(
        default="",
        metadata=parameter(
            "add the octaves that the instrument can play (as with key), or none",
            values="fit|keep",
            read=choice("fit", "keep"),
        ),
    )
    keeps: ClassVar[frozenset[Promise]] = frozenset(
        {Promise.SHIFTED_PITCH_CLASSES, Promise.ONSETS, Promise.MEASURE_LENGTHS}
    )

    def __post_init__(self) -> None:
        one_of(self.direction, ("nearest", "up", "down"), name="direction")
        one_of(self.octave, ("", "fit", "keep"), name="octave")
        given = [value for value in (self.interval, self.semitones, self.key) if value is not None]
        if len(given) > 1:
            raise UsageError(
                "transpose is told more than once how far",
                way_out="give interval, semitones or key",
            )
        if not given and self.octave != "fit":
            raise UsageError(
                "transpose is not told how far", way_out="give interval, semitones or key"
            )

    def interval_for(self, score: Score) -> Interval:
        """Return the interval by which every note of a score moves, octaves included.

        Raises:
            Refusal: ``key`` is given and the score has no key signature, or another mode.
        """
        base = printable_interval(score, self._asked(score))
        return fitted(score, base) if self._fits else base

    def __call__(self, score: Score) -> Score:
        """Return the moved score."""
        asked, interval = self._asked(score), self.interval_for(score)
        if interval == UNISON:
            return with_changes(score, [Change("nothing to move", NAME)])
        parts: list[Part] = []
        changes = _headlines(score, asked, interval)
        for part in score.parts:
            moved, losses = move_part(part, interval, step=NAME)
            parts.append(moved)
            changes += [*losses, *_out_of_range(moved)]
        return with_parts(score, parts, changes)

    @property
    def _fits(self) -> bool:
        return self.octave == "fit" or (self.octave == "" and self.key is not None)

    def _asked(self, score: Score) -> Interval:
        if self.interval is not None:
            return self.interval
        if self.semitones is not None:
            return spelled(score, self.semitones)
        if self.key is not None:
            return to_key(score, self.key, self.direction)
        return UNISON


def _headlines(score: Score, asked: Interval, interval: Interval) -> list[Change]:
    """Return what was done, and why it is not exactly what was asked for."""
    source = next((key for part in score.parts if (key := key_at_start(part))), None)
    keys = f", from {source} to {source.moved(interval)}" if source else ""
    lines = [f"moved {moved_words(interval)}{keys}"]
    added = (interval.semitones - asked.semitones) // 12
    if added:
        way = "higher" if added > 0 else "lower"
        lines.append(f"{count(abs(added), 'octave')} {way}, so that the instrument can play it")
    if (interval + octaves(-added)).steps != asked.steps:
        lines.append(
            f"{interval.name} instead of {asked.name}, which sounds the same: the key signature"
            " would need more than seven signs"
        )
    return [Change(line, NAME) for line in lines]


def _out_of_range(part: Part) -> list[Change]:
    instrument = part.instrument
    if instrument is None:
        return []
    low, high = instrument.lowest, instrument.highest
    outside = sum(not low <= height <= high for height in heights(part))
    if not outside:
        return []
    cause = f"{count(outside, 'note')} out of the instrument's range (MIDI {low} to {high})"
    return [Change(cause, NAME, part=part.id)]
