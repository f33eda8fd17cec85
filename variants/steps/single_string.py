"""The step `single-string`: a line on one string."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

from variants.contract import TIMES, Promise
from variants.errors import Refusal
from variants.music import UNISON, Interval
from variants.score import (
    Change,
    Instrument,
    Part,
    Place,
    Score,
    Take,
    key_at_start,
    place_text,
    with_parts,
)
from variants.steps.framework.log import Scribe, count, scribe
from variants.steps.framework.reading import choice, whole
from variants.steps.framework.registry import Checked, parameter, register
from variants.steps.lines.takes import (
    assumed,
    fold_hint,
    fret_span,
    fretted_parts,
    instrument_at,
    placed,
    takes_of,
    with_instrument,
)
from variants.steps.moves.intervals import octaves, spelled
from variants.steps.moves.moving import move_part
from variants.steps.wording.words import moved_words

_NAME = "single-string"
_MOST_STRINGS = 12
_MOST_FRETS = 36
_OCTAVE = 12
_MOVES = ("auto", "never", "always")


@dataclass(frozen=True, slots=True)
class _Fit:
    """A note and how far it may move, in semitones, to stay on the string.

    Args:
        place: Which part it stands in.
        take: The note.
        down: The lowest move that keeps it on the string; negative downward.
        up: The highest.
    """

    place: int
    take: Take
    down: int
    up: int


@register(
    _NAME,
    examples=(
        "single-string:string=1",
        "single-string",
        "single-string:string=5,move=never",
        "single-string:string=6,fret=0,move=always",
    ),
)
@dataclass(frozen=True, slots=True, kw_only=True)
class SingleString(Checked):
    """Play a line on one string from a chosen fret.

    The sounding pitch stays where every note lies between the chosen fret and the end of the
    neck. Else the whole line moves by one interval, and every part, key signature and chord
    symbol with it: by octaves, since these keep the key, to the lowest place that holds it; if
    no octave does, so that the lowest note sits at the chosen fret. ``move=always`` puts it there
    in any case, as a version for small hands wants it; ``never`` refuses what does not fit.

    >>> SingleString(string=1, move="never").interval_for(Score(1, ())).semitones
    0
    """

    string: int = parameter(6, "string; 1 is printed highest in tab", whole(1, _MOST_STRINGS))
    fret: int = parameter(0, "lowest fret; 0 is the open string", whole(0, _MOST_FRETS))
    move: str = parameter(
        "auto",
        "whether the line may move; always: its lowest note to that fret",
        choice("auto", "never", "always"),
    )
    keeps: ClassVar[frozenset[Promise]] = frozenset({Promise.SHIFTED_PITCH_CLASSES, *TIMES})

    def interval_for(self, score: Score) -> Interval:
        """Return the interval by which every note moves; a unison where the line fits.

        Raises:
            Refusal: Two notes sound at once, the line is wider than the string, there is no such
                string or fret, or the line would have to move and ``move`` is ``never``.
        """
        fits = self._fits(score)
        lowest = max((fit.down for fit in fits), default=0)
        highest = min((fit.up for fit in fits), default=0)
        if lowest <= 0 <= highest and self.move != "always":
            return UNISON
        if lowest > highest:
            raise self._too_wide(score, fits)
        if self.move == "never":
            raise self._out_of_place(score, fits)
        if lowest == 0:
            return UNISON
        octave = -(-lowest // 12)
        wanted = lowest if self.move == "always" else highest
        return octaves(octave) if 12 * octave <= wanted else spelled(score, lowest)

    def __call__(self, score: Score) -> Score:
        """Return the score with every note of its lines on the string."""
        interval = self.interval_for(score)
        fretted = set(fretted_parts(score))
        parts: list[Part] = []
        changes = self._headlines(score, interval)
        for index, source in enumerate(score.parts):
            part, losses = source, list[Change]()
            if interval != UNISON:
                part, losses = move_part(source, interval, step=_NAME)
            changes += losses
            if index in fretted:
                part, lines = self._placed(score, with_instrument(part))
                changes += [*assumed(source, _NAME), *lines]
            parts.append(part)
        return with_parts(score, parts, changes)

    def _fits(self, score: Score) -> list[_Fit]:
        """Return how far each note of the fretted parts may move."""
        found: list[_Fit] = []
        for index in fretted_parts(score):
            part = with_instrument(score.parts[index])
            log = scribe(_NAME, score, part)
            takes = takes_of(part, log)
            _check_line(takes, log)
            instrument = instrument_at(part)
            for take in takes:
                low, high = self._range(instrument(take.start))
                midi = take.pitch.midi
                found.append(_Fit(index, take, low - midi, high - midi))
        return found

    def _range(self, instrument: Instrument) -> tuple[int, int]:
        """Return the lowest and highest MIDI number on the string from the fret on."""
        if self.string > instrument.strings:
            raise Refusal(
                f"the instrument has no string {self.string}",
                way_out=f"use string=1 to {instrument.strings}",
            )
        open_midi = instrument.open_midi[self.string - 1]
        frets = range(instrument.frets + 1)
        top = max(fret for fret in frets if instrument.sounding(Place(self.string, fret)))
        if self.fret > top:
            raise Refusal(
                f"string {self.string} has no fret {self.fret}", way_out=f"use fret=0 to {top}"
            )
        return open_midi + self.fret, open_midi + top

    def _placed(self, score: Score, part: Part) -> tuple[Part, list[Change]]:
        log = scribe(_NAME, score, part)
        takes = takes_of(part, log)
        if not takes:
            return part, []
        instrument = instrument_at(part)
        places = [
            Place(
                self.string,
                take.pitch.midi - instrument(take.start).open_midi[self.string - 1],
            )
            for take in takes
        ]
        frets = [place.fret for place in places]
        name = instrument(0).open_strings[self.string - 1]
        line = log.overall(
            f"{count(len(takes), 'note')} on string {self.string} ({name}), {fret_span(frets)}"
        )
        return placed(part, zip(takes, places, strict=True)), [line]

    def _headlines(self, score: Score, interval: Interval) -> list[Change]:
        if interval == UNISON:
            return []
        source = next((key for part in score.parts if (key := key_at_start(part))), None)
        keys = f", from {source} to {source.moved(interval)}" if source else ""
        if interval.semitones % 12 == 0:
            keys = f", still in {source}" if source else ""
        reason = f"to fit string {self.string} from fret {self.fret}"
        if self.move == "always":
            start = "is the open string" if self.fret == 0 else f"sits at fret {self.fret}"
            reason = f"so that the lowest note {start}"
        return [Change(f"moved {moved_words(interval)}{keys}, {reason}", _NAME)]

    # -- refusals ------------------------------------------------------------------------

    def _too_wide(self, score: Score, fits: list[_Fit]) -> Refusal:
        lowest = max(fits, key=lambda fit: fit.down)
        highest = min(fits, key=lambda fit: fit.up)
        part = score.parts[highest.place]
        top = place_text(score, part, highest.take.measure, highest.take.tick)
        if lowest.place != highest.place:
            return Refusal(
                f"no one interval puts every part on string {self.string}: {lowest.take.pitch}"
                f" in part {score.parts[lowest.place].name} may only move"
                f" {_room(lowest.down, 1)}, {highest.take.pitch} here only {_room(highest.up, -1)}",
                place=top,
                way_out="take one part with choose-part",
            )
        bottom = place_text(score, score.parts[lowest.place], lowest.take.measure, lowest.take.tick)
        span = highest.take.pitch.midi - lowest.take.pitch.midi
        holds = highest.up + highest.take.pitch.midi - (lowest.down + lowest.take.pitch.midi)
        pair = f"{self.string}+{self.string - 1}" if self.string > 1 else "2+1"
        lower = "start at a lower fret, or " if self.fret else ""
        low = lowest.take.pitch.midi
        # Every note has an octave in a range of twelve semitones.
        fold = fold_hint(low, low + holds) if holds >= _OCTAVE - 1 else ""
        return Refusal(
            f"the line spans {span} semitones, from {lowest.take.pitch} ({bottom}) to"
            f" {highest.take.pitch}, and string {self.string} holds {holds} from fret {self.fret}",
            place=top,
            way_out=f"{lower}{fold}use two strings, as in shift-position:strings={pair}",
        )

    def _out_of_place(self, score: Score, fits: list[_Fit]) -> Refusal:
        fit = next(fit for fit in fits if not fit.down <= 0 <= fit.up)
        side = f"below fret {self.fret}" if fit.down > 0 else "past the last fret"
        return Refusal(
            f"{fit.take.pitch} lies {side} of string {self.string}",
            place=place_text(score, score.parts[fit.place], fit.take.measure, fit.take.tick),
            way_out="leave out move=never, or choose another string",
        )


def _room(semitones: int, way: int) -> str:
    """Return in words how far a note may move: from ``semitones`` on up (1) or down (-1).

    >>> _room(3, 1), _room(-3, 1)
    ('up, by 3 semitones or more', 'down by 3 semitones at most, or up')
    """
    names = {1: "up", -1: "down"}
    number = count(abs(semitones), "semitone")
    if semitones * way > 0:
        return f"{names[way]}, by {number} or more"
    return f"{names[-way]} by {number} at most, or {names[way]}" if semitones else names[way]


def _check_line(takes: Sequence[Take], log: Scribe) -> None:
    """Refuse takes of which two sound at once."""
    held: Take | None = None
    for take in takes:
        if held is not None and held.moment == take.moment:
            raise log.refusal(
                take.measure,
                take.tick,
                "two notes cannot sound on one string",
                way_out="put reduce-chords before it",
            )
        if held is not None and held.end > take.start:
            raise log.refusal(
                take.measure,
                take.tick,
                f"{held.pitch} is still held when {take.pitch} begins, and two notes cannot"
                " sound on one string",
                way_out="put reduce-chords before it",
            )
        held = take
