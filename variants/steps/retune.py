"""The step `retune`: another tuning, under the same sound or under the same shapes."""

from __future__ import annotations

from dataclasses import dataclass, replace

from variants.contract import Promise
from variants.errors import Refusal
from variants.guitar import parse_tuning
from variants.guitar.instrument import BUILDS
from variants.guitar.tuning import Tuning, named_tuning
from variants.music import UNISON, Interval
from variants.score import Change, Instrument, Part, Score, with_changes, with_parts
from variants.steps.framework.reading import choice, written
from variants.steps.framework.registry import Checked, parameter, register
from variants.steps.lines.takes import assumed, fretted_parts, with_instrument
from variants.steps.moves.intervals import printable_interval, spelled
from variants.steps.places.restring import (
    SAME_SOUND,
    check_reach,
    kept,
    other_shapes,
    restrung,
    same_shapes,
    sounds_words,
    with_instrument_changed,
)

_NAME = "retune"
_SHAPES = "shapes"


@register(
    _NAME,
    examples=("retune", "retune:tuning=dadgad", "retune:tuning=half-step-down,sound=shapes"),
)
@dataclass(frozen=True, slots=True, kw_only=True)
class Retune(Checked):
    """Tune the strings anew: the same sound from other shapes, or the same shapes lower or higher.

    With ``sound=same`` no pitch changes and places are found anew. With ``sound=shapes`` strings,
    frets and fingers stay and every note moves with its string; that keeps the tune only where
    all strings are moved alike (half a step down, say), and is refused elsewhere. A capo stays.
    """

    tuning: str = parameter(
        "drop-d",
        "the tuning",
        written(
            lambda text: parse_tuning(text).name,
            "a name, or notes as in D2-A2-D3-G3-B3-E4; neckwise list tunings shows names",
        ),
    )
    sound: str = parameter(
        SAME_SOUND,
        "the same sound from other shapes, or the same shapes",
        choice(SAME_SOUND, _SHAPES),
    )

    @property
    def keeps(self) -> frozenset[Promise]:
        """What the step promises, which depends on whether the sound stays."""
        return kept(self.sound)

    def interval_for(self, score: Score) -> Interval:
        """Return the interval by which every note moves: a unison where the sound stays.

        Raises:
            Refusal: The strings are not all moved by the same interval.
        """
        if self.sound == SAME_SOUND:
            return UNISON
        shifts = {
            shift
            for index in fretted_parts(score)
            for shift in self._shifts(with_instrument(score.parts[index]).instrument)
        }
        if len(shifts) > 1:
            raise Refusal(
                f"{self.tuning} does not move all strings alike, so the same shapes would play"
                " another tune",
                way_out="use sound=same, or a tuning such as half-step-down",
            )
        semitones = shifts.pop() if shifts else 0
        return printable_interval(score, spelled(score, semitones)) if semitones else UNISON

    def _shifts(self, instrument: Instrument | None) -> list[int]:
        """Return by how many semitones each string is moved."""
        wanted = parse_tuning(self.tuning)
        if instrument is None:
            return []
        if instrument.strings != len(wanted.strings):
            raise Refusal(
                f"{self.tuning} is for {len(wanted.strings)} strings, and the instrument has"
                f" {instrument.strings}",
                way_out="use sound=same, or a tuning for as many strings",
            )
        old = [pitch.midi for pitch in instrument.open_strings]
        return [new - before for new, before in zip(wanted.open_midi, old, strict=True)]

    def __call__(self, score: Score) -> Score:
        """Return the score for the strings as they are tuned now.

        Raises:
            Refusal: A note lies on no string any more, or the strings do not all move alike.
        """
        interval = self.interval_for(score)
        if not fretted_parts(score):
            return with_changes(score, [Change("no part has strings to tune", _NAME)])

        def retuned(part: Part) -> tuple[Part, list[Change]]:
            return self._retuned(score, part, interval)

        parts, changes = restrung(score, interval, retuned, step=_NAME)
        return with_parts(score, parts, changes)

    def _retuned(self, score: Score, source: Part, interval: Interval) -> tuple[Part, list[Change]]:
        lines = assumed(source, _NAME)
        strung = with_instrument(source)
        wanted = parse_tuning(self.tuning)
        part = with_instrument_changed(strung, lambda old: _tuned(old, wanted))
        lines.append(Change(self._headline(strung, interval), _NAME, part=source.id))
        if self.sound == SAME_SOUND:
            part, more = other_shapes(part, step=_NAME)
        else:
            part, more = same_shapes(part, interval, step=_NAME)
        part, gone = check_reach(score, part, step=_NAME, what=f"in {wanted.name}")
        return part, lines + more + gone

    def _headline(self, part: Part, interval: Interval) -> str:
        wanted = parse_tuning(self.tuning)
        strings = _moved_strings(part.instrument, wanted)
        if self.sound == SAME_SOUND:
            return f"tuned to {wanted.name} ({strings}): it sounds as before from other shapes"
        how = sounds_words(interval)
        return f"tuned to {wanted.name} ({strings}): the same shapes, and all {how}"


def _moved_strings(instrument: Instrument | None, wanted: Tuning) -> str:
    """Return which strings are tuned from what to what, in words."""
    if instrument is None or instrument.strings != len(wanted.strings):
        return wanted.notes
    pairs = enumerate(zip(instrument.open_strings, wanted.open_strings, strict=True), 1)
    moved = [(number, old, new) for number, (old, new) in pairs if old.midi != new.midi]
    if not moved:
        return "as it was"
    if len(moved) > instrument.strings // 2:
        return wanted.notes
    return ", ".join(f"string {number} from {old} to {new}" for number, old, new in moved[::-1])


def _tuned(old: Instrument, wanted: Tuning) -> Instrument:
    """Return the instrument in another tuning; one of another kind has the usual neck."""
    known = named_tuning(old.open_strings)
    kind = known.kind if known else "guitar"
    build = BUILDS[wanted.kind]
    is_same = kind == wanted.kind or len(wanted.strings) == old.strings
    return replace(
        old,
        open_strings=wanted.open_strings,
        frets=old.frets if is_same else build.frets,
        scale_length_mm=old.scale_length_mm if is_same else build.scale_length_mm,
        capo=old.capo if is_same else 0,
        tuning=wanted.name,
        first_frets=wanted.first_frets,
        assumed=False,
    )
