"""The family `all-strings`: a line on each string in turn."""

from __future__ import annotations

from dataclasses import dataclass

from variants.errors import Refusal
from variants.music import UNISON
from variants.score import Instrument, Score, key_at_start
from variants.steps.framework.reading import whole
from variants.steps.framework.registry import Checked, Member, Step, parameter, register_family
from variants.steps.lines.takes import fretted_parts, with_instrument
from variants.steps.moves.intervals import heights, printable_interval, spelled
from variants.steps.single_string import SingleString
from variants.steps.transpose import Transpose

_NAME = "all-strings"
_MOST_FRETS = 36


@register_family(_NAME, examples=("all-strings", "all-strings:fret=2"))
@dataclass(frozen=True, slots=True, kw_only=True)
class AllStrings(Checked):
    """Write a line on each string in turn, from the same fret: the same frets, another key.

    The lowest note sits at the chosen fret of each string, so that the hand learns one shape and
    the ear six keys. Each file is named by its string and its new key.
    """

    fret: int = parameter(0, "lowest fret; 0 is the open string", whole(0, _MOST_FRETS))

    def expand(self, score: Score) -> tuple[Member, ...]:
        """Return a variant for each string, from string 1 on.

        Raises:
            Refusal: There are several parts or no line, the line is wider than a string, or two
                of its notes sound at once.
        """
        instrument, lowest = _line(score)
        return tuple(
            self._on(score, string, open_midi + self.fret - lowest)
            for string, open_midi in enumerate(instrument.open_midi, 1)
        )

    def _on(self, score: Score, string: int, semitones: int) -> Member:
        steps: list[Step] = []
        key = next((one for part in score.parts if (one := key_at_start(part))), None)
        moved = score
        if semitones:
            interval = printable_interval(score, spelled(score, semitones))
            steps.append(Transpose(interval=interval, octave="keep"))
            moved = steps[0](score)
            key = next((one for part in moved.parts if (one := key_at_start(part))), None)
        on_string = SingleString(string=string, fret=self.fret, move="never")
        if on_string.interval_for(moved) != UNISON:
            raise Refusal("the line does not fit", way_out="choose a lower fret")
        steps.append(on_string)
        name = f"string-{string}"
        if key is None:
            return Member(name, f"string {string}", tuple(steps))
        words = str(key).lower().replace("#", " sharp")
        if key.tonic.endswith("b"):
            words = f"{key.tonic[0].lower()} flat {words.partition(' ')[2]}"
        return Member(f"{name}-{words.replace(' ', '-')}", f"string {string}, {key}", tuple(steps))


def _line(score: Score) -> tuple[Instrument, int]:
    """Return the instrument of the only line and the MIDI number of its lowest note."""
    places = fretted_parts(score)
    if len(places) != 1:
        raise Refusal(
            "all-strings is for one line, and the score has"
            f" {len(places) or 'no'} part{'s' * (len(places) != 1)} for it",
            way_out="take one part with choose-part",
        )
    part = with_instrument(score.parts[places[0]])
    found = list(heights(part))
    if part.instrument is None or not found:
        raise Refusal("the part has no notes", way_out="take another part with choose-part")
    return part.instrument, min(found)
