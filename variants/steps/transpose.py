"""Transposition: every part by one interval, spelled on the line of fifths."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from variants.contract import TIMES, Promise
from variants.errors import UsageError
from variants.music import UNISON, Interval, Key
from variants.score import Change, Part, Score, key_at_start, with_changes, with_parts
from variants.steps.framework.log import count
from variants.steps.framework.reading import choice, parsed, whole
from variants.steps.framework.registry import Checked, parameter, register
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
class Transpose(Checked):
    """Move every note, key signature and chord symbol by one interval.

    Exactly one of ``interval``, ``semitones`` and ``key`` says how far; with ``octave="fit"``
    none is needed. ``semitones`` takes the spelling with the simplest key signature, without one
    that with the fewest accidentals. Notes are spelled by their interval. Where a key signature
    would need more than seven signs the enharmonic interval is used for everything. Places on the
    neck and fingers are erased, chord diagrams dropped. Unpitched parts stay as they are.

    >>> Transpose(interval=Interval.parse("m3")).interval_for(Score(1, ())).semitones
    3
    """

    interval: Interval | None = parameter(
        None,
        "how far, by name, downward if negative",
        parsed(Interval, Interval.parse, "m3, -P4, M2, A4, ..."),
    )
    semitones: int | None = parameter(
        None, "how far, in semitones", whole(-_MOST_SEMITONES, _MOST_SEMITONES)
    )
    key: Key | None = parameter(
        None, "key to go to", parsed(Key, Key.parse, "E minor, Bb major, ...")
    )
    direction: str = parameter("nearest", "way to that key", choice("nearest", "up", "down"))
    octave: str = parameter(
        "",
        "add the octaves that the instrument can play (as with key), or none",
        choice("fit", "keep"),
    )
    keeps: ClassVar[frozenset[Promise]] = frozenset({Promise.SHIFTED_PITCH_CLASSES, *TIMES})

    def check_together(self) -> None:
        """See `Checked`."""
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
