"""The step `capo`: a capo, under the same sound or under the same shapes."""

from __future__ import annotations

from dataclasses import dataclass, replace

from variants.contract import Promise
from variants.errors import Refusal
from variants.music import UNISON, Interval, Key, Pitch
from variants.music import spelled as name_in_key
from variants.score import Change, Instrument, Part, Score, with_changes, with_parts
from variants.steps.framework.log import count
from variants.steps.framework.reading import choice, whole
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

_NAME = "capo"
_HIGHER = "higher"
_MOST_CAPO = 12
# A line of the log names so many chords.
_MOST_CHORDS = 8
# No chord book names shapes so.
_UNUSUAL = frozenset({"Cb", "Fb", "B#", "E#"})


@register(_NAME, examples=("capo", "capo:fret=3,sound=higher", "capo:fret=0"))
@dataclass(frozen=True, slots=True, kw_only=True)
class Capo(Checked):
    """Set a capo: the same sound from other shapes, or the same shapes sounding higher.

    A capo at fret n raises every open string by n semitones (equal temperament). With
    ``sound=same`` no pitch changes and places are found anew. With ``sound=higher`` every part
    moves up by as many semitones as the capo does, key signature and chord symbols too, and
    strings, frets, fingers and chord diagrams stay, since they count from the capo.
    """

    fret: int = parameter(2, "fret of the capo; 0 takes it off", whole(0, _MOST_CAPO))
    sound: str = parameter(
        SAME_SOUND,
        "the same sound from other shapes, or the same shapes higher",
        choice(SAME_SOUND, _HIGHER),
    )

    @property
    def keeps(self) -> frozenset[Promise]:
        """What the step promises, which depends on whether the sound stays."""
        return kept(self.sound)

    def interval_for(self, score: Score) -> Interval:
        """Return the interval by which every note moves: a unison where the sound stays.

        Raises:
            Refusal: The parts have capos at different frets, so no one interval moves them all.
        """
        if self.sound == SAME_SOUND:
            return UNISON
        capos = {part.instrument.capo for part in score.parts if part.instrument is not None}
        if len(capos) > 1:
            raise Refusal(
                "the parts have capos at different frets, and one step would move them unlike",
                way_out="take one part with choose-part",
            )
        semitones = self.fret - (capos.pop() if capos else 0)
        return printable_interval(score, spelled(score, semitones)) if semitones else UNISON

    def __call__(self, score: Score) -> Score:
        """Return the score with the capo set.

        Raises:
            Refusal: A note lies below the capo or past the last fret, or the neck is too short.
        """
        interval = self.interval_for(score)
        if not fretted_parts(score):
            return with_changes(score, [Change("no part has strings for a capo", _NAME)])

        def capoed(part: Part) -> tuple[Part, list[Change]]:
            return self._capoed(score, part, interval)

        parts, changes = restrung(score, interval, capoed, step=_NAME)
        return with_parts(score, parts, [Change(self._headline(interval), _NAME), *changes])

    def _headline(self, interval: Interval) -> str:
        where = f"capo at fret {self.fret}" if self.fret else "the capo is taken off"
        if self.sound == SAME_SOUND:
            return f"{where}: it sounds as before, and the hand plays other shapes"
        return f"{where}: the hand plays the same shapes, and all {sounds_words(interval)}"

    def _capoed(self, score: Score, source: Part, interval: Interval) -> tuple[Part, list[Change]]:
        lines = assumed(source, _NAME)
        part = with_instrument_changed(with_instrument(source), self._set)
        if self.sound == SAME_SOUND:
            part, more = other_shapes(part, step=_NAME)
            more += _played_as(part, self.fret)
        else:
            part, more = same_shapes(part, interval, step=_NAME)
        what = f"with the capo at fret {self.fret}" if self.fret else "without a capo"
        part, gone = check_reach(score, part, step=_NAME, what=what)
        return part, lines + more + gone

    def _set(self, instrument: Instrument) -> Instrument:
        room = instrument.frets - max(instrument.first_frets, default=0)
        if self.fret >= room:
            raise Refusal(
                f"no capo fits at fret {self.fret} of a neck with {instrument.frets} frets",
                way_out=f"use fret=0 to {room - 1}",
            )
        return replace(instrument, capo=self.fret)


def _played_as(part: Part, fret: int) -> list[Change]:
    """Return the line that names the shape of each chord symbol under a capo."""
    if not fret:
        return []
    down = Interval.of_semitones(-fret)
    names: dict[str, str] = {}
    for measure in part.measures:
        for one in measure.harmonies:
            if one.root is not None:
                sounding = Pitch(*one.root, 4)
                shape = sounding + down
                if shape.name in _UNUSUAL or abs(int(shape.alter)) > 1:
                    shape = name_in_key(shape.midi, Key(0))
                names.setdefault(sounding.name, shape.name)
    if not names:
        return []
    told = [f"{sounding} as {shape}" for sounding, shape in names.items()][:_MOST_CHORDS]
    more = f" and {count(len(names) - len(told), 'more root')}" if len(names) > len(told) else ""
    text = f"chord symbols name what sounds; by shape, play {', '.join(told)}{more}"
    return [Change(text, _NAME, part=part.id)]
