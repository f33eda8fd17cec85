"""What steps say: change log lines and refusals that name measure and beat."""

from __future__ import annotations

from dataclasses import dataclass

from variants.errors import Refusal
from variants.score import Change, MeasureView, Part, Score, measures, place_text


@dataclass(frozen=True, slots=True)
class Scribe:
    """Writes the lines that one step has to say about one part.

    Make it with `scribe`; views of all measures are made once, so a line costs little.
    """

    step: str
    score: Score
    part: Part
    views: tuple[MeasureView, ...]

    def at(self, index: int, tick: int, message: str) -> Change:
        """Return a line about a moment: measure index from 0, ticks from its start."""
        view = self.views[index]
        return Change(
            message,
            self.step,
            view.measure.number,
            view.beat_text(tick),
            self.part.id,
        )

    def overall(self, message: str) -> Change:
        """Return a line about the whole part."""
        return Change(message, self.step, part=self.part.id)

    def refusal(self, index: int, tick: int, cause: str, *, way_out: str) -> Refusal:
        """Return the refusal to apply the step because of what stands at a moment."""
        place = place_text(self.score, self.part, index, tick)
        return Refusal(cause, place=place, way_out=way_out)


def scribe(step: str, score: Score, part: Part) -> Scribe:
    """Return the scribe of a step for a part of a score."""
    return Scribe(step, score, part, measures(part, score.ticks))


def count(number: int, thing: str) -> str:
    """Return a number with its noun.

    >>> count(1, "note"), count(3, "note")
    ('1 note', '3 notes')
    """
    return f"{number} {thing}" if number == 1 else f"{number} {thing}s"
