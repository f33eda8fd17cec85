"""The step `add-bass`: a bass note under each chord, for a second hand or a teacher to play."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import ClassVar

from variants.contract import Promise
from variants.errors import Refusal
from variants.music import NoteValue, Pitch
from variants.score import (
    Change,
    Event,
    Harmony,
    Instrument,
    MeasureView,
    Note,
    Part,
    Score,
    Voice,
    measures,
    timeline,
    with_parts,
)
from variants.score.notation import NotationWriter
from variants.steps.framework.log import Scribe, count, scribe
from variants.steps.framework.reading import choice
from variants.steps.framework.registry import Checked, parameter, register
from variants.steps.lines.takes import assumed, instrument_at, with_instrument
from variants.steps.wording.words import symbol_text

_NAME = "add-bass"
# A bass sounds well in the octave above the lowest string (common practice).
_OCTAVE = 12


@register(_NAME, examples=("add-bass", "add-bass:strike=chords"))
@dataclass(frozen=True, slots=True, kw_only=True)
class AddBass(Checked):
    """Put a bass note under a melody with chord symbols: the root, or the bass that is named.

    It is struck where a chord begins and, with ``strike=measures`` (the default: first books have
    it so), at the start of each measure in which the chord goes on; it is held to the next one or
    to the end of the measure. It lies in the lowest octave of the instrument, and the melody's
    stems turn up over it. Where the melody itself is that low, or there is no chord, nothing is
    added.
    """

    strike: str = parameter(
        "measures", "again in each measure, or where a chord begins", choice("measures", "chords")
    )
    keeps: ClassVar[frozenset[Promise]] = frozenset({Promise.SOURCE_NOTES, Promise.MEASURE_LENGTHS})

    def __call__(self, score: Score) -> Score:
        """Return the score with a bass under each part that has chord symbols.

        Raises:
            Refusal: No part has a chord symbol.
        """
        if not any(measure.harmonies for part in score.parts for measure in part.measures):
            raise Refusal(
                "there are no chord symbols to take a bass from",
                way_out="put harmonize-chords before it",
            )
        parts: list[Part] = []
        changes: list[Change] = []
        for part in score.parts:
            if any(measure.harmonies for measure in part.measures):
                done, lines = self._with_bass(score, part)
                parts.append(done)
                changes += lines
            else:
                parts.append(part)
        return with_parts(score, parts, changes)

    def _with_bass(self, score: Score, source: Part) -> tuple[Part, list[Change]]:
        part = with_instrument(source)
        log = scribe(_NAME, score, part)
        strung = instrument_at(part)
        own = {voice.id for measure in part.measures for voice in measure.voices}
        voice = str(next(n for n in range(2, 99) if str(n) not in own))
        symbol: Harmony | None = None
        done, changes, number = [], assumed(source, _NAME), 0
        for view in measures(part, score.ticks):
            symbols = sorted(view.measure.harmonies, key=lambda one: one.onset)
            instrument = strung(view.start)
            notes = list(self._notes(view, symbol, symbols, instrument))
            free = [note for note in notes if _is_free(part, view, note, instrument)]
            changes += _told(log, view, notes, free)
            number += len(free)
            writer = NotationWriter(view.metre, score.ticks, view.measure.length, view.shift)
            events = writer.beamed(list(writer.filled(free))) if free else ()
            added = (Voice(voice, events),) if free else ()
            done.append(replace(view.measure, voices=(*view.measure.voices, *added)))
            symbol = symbols[-1] if symbols else symbol
        changes.insert(0, log.overall(f"{count(number, 'bass note')} added under the melody"))
        return replace(part, measures=tuple(done)), changes

    def _notes(
        self,
        view: MeasureView,
        before: Harmony | None,
        symbols: list[Harmony],
        instrument: Instrument,
    ) -> Iterator[Event]:
        """Yield the bass of a measure, each note held to the next."""
        struck = [(one.onset, one) for one in symbols]
        goes_on = before is not None and (not struck or struck[0][0] > 0)
        if goes_on and self.strike == "measures" and before is not None:
            struck.insert(0, (0, before))
        ends = [*(onset for onset, _ in struck), view.measure.length][1:]
        for (onset, symbol), end in zip(struck, ends, strict=True):
            pitch = _bass_of(symbol, instrument)
            if pitch is not None and end > onset:
                yield Event(onset, end - onset, NoteValue(""), (Note(pitch),))


def _bass_of(symbol: Harmony, instrument: Instrument) -> Pitch | None:
    """Return the bass of a chord in the lowest octave of an instrument; `None` for no chord."""
    name = symbol.bass or symbol.root
    if name is None or symbol.kind == "none":
        return None
    lowest = min(instrument.open_midi)
    pitch = Pitch(*name, 0)
    return next(
        (
            moved
            for octave in range(10)
            if lowest <= (moved := pitch.moved_octaves(octave)).midi < lowest + _OCTAVE
        ),
        None,
    )


def _is_free(part: Part, view: MeasureView, bass: Event, instrument: Instrument) -> bool:
    """Whether all that sounds while a bass note does lies above it, and on another string."""
    start, end = view.start + bass.onset, view.start + bass.end
    pitch = bass.notes[0].pitch
    return pitch is not None and all(
        take.pitch.semitones > pitch.semitones
        and _have_two_strings(pitch.midi, take.pitch.midi, instrument)
        for take in timeline(part).takes
        if take.start < end and take.end > start
    )


def _have_two_strings(one: int, other: int, instrument: Instrument) -> bool:
    """Whether two notes can sound at once: not both on the same string alone."""
    strings = [{place.string for place in instrument.places(midi)} for midi in (one, other)]
    return all(strings) and len(strings[0] | strings[1]) > 1


def _told(
    log: Scribe, view: MeasureView, notes: list[Event], free: list[Event]
) -> Iterator[Change]:
    for note in notes:
        if note not in free:
            name = note.notes[0].pitch
            text = f"no bass {name} here: the melody is as low, or needs the string"
            yield log.at(view.index, note.onset, text)
        else:
            symbols = [one for one in view.measure.harmonies if one.onset == note.onset]
            under = f" under {symbol_text(symbols[0])}" if symbols else ""
            yield log.at(view.index, note.onset, f"{note.notes[0].pitch} added{under}")
