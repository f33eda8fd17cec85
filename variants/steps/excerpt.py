"""The step `excerpt`: from one beat to another, with its pick-up, complete in itself."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import ClassVar

from variants.contract import Promise
from variants.errors import Refusal, UsageError
from variants.score import (
    Change,
    Event,
    Harmony,
    Measure,
    MeasureView,
    NoteKey,
    Part,
    Score,
    Voice,
    measures,
    timeline,
    with_parts,
)
from variants.score.notation import NotationWriter, writers
from variants.steps.cutting.arranging import check_measures
from variants.steps.framework.log import count
from variants.steps.framework.reading import written
from variants.steps.framework.registry import Checked, parameter, register
from variants.steps.lines.dropping import drop_notes
from variants.steps.measures import cut_measures

_NAME = "excerpt"
_START, _END = "start", "end"
_PLACE = re.compile(r"([^/\s]+)/(\d{1,4})(\.\d{1,6})?(?:\+(\d{1,4})/(\d{1,4}))?")
_WAY_OUT = "write a measure's printed number and a beat, as in 6/4, 6/2.5 or 6/2+1/3"


def _read(text: str) -> str:
    word = text.strip().lower()
    if word in {_START, _END}:
        return word
    found = _PLACE.fullmatch(text.strip())
    if found is None or found.group(5) == "0":
        raise UsageError(f"{text!r} is no place in the music", way_out=_WAY_OUT)
    return text.strip()


def beat_code(beat: Fraction) -> str:
    """Return a beat as `excerpt` takes it.

    >>> beat_code(Fraction(4)), beat_code(Fraction(5, 2)), beat_code(Fraction(7, 3))
    ('4', '2.5', '2+1/3')
    """
    whole, rest = divmod(beat, 1)
    if rest.denominator in {1, 2, 4, 8}:
        return f"{float(beat):g}"
    return f"{whole}+{rest}"


@register(_NAME, examples=("excerpt", "excerpt:end=1/2", "excerpt:begin=1/2"))
@dataclass(frozen=True, slots=True, kw_only=True)
class Excerpt(Checked):
    """Keep what begins from one beat to another: a phrase with its pick-up, ready to be read.

    Beats are counted as the metre is counted; in a pick-up they are the last ones. Where it begins
    within a measure, what is left of the measure is a pick-up. What begins before or after goes,
    and rests stand where it was.
    """

    begin: str = parameter(
        _START, "measure and beat with which it begins", written(_read, "6/4, 6/2.5, or start")
    )
    end: str = parameter(
        _END, "measure and beat of the last notes that stay", written(_read, "9/3, or end")
    )
    keeps: ClassVar[frozenset[Promise]] = frozenset({Promise.PITCH_CLASS_SUBSEQUENCE})

    def __call__(self, score: Score) -> Score:
        """Return the passage.

        Raises:
            Refusal: There is no such measure or beat, or nothing lies between them.
        """
        length = check_measures(score)
        if not length:
            raise Refusal("the score has no measures", way_out="give another score")
        views = measures(score.parts[0], score.ticks)
        first = _place(views, self.begin) if self.begin != _START else (0, 0)
        last = (
            _place(views, self.end) if self.end != _END else (length - 1, views[-1].measure.length)
        )
        if last < first:
            raise Refusal(
                f"{self.end} comes before {self.begin}", way_out="give the earlier place first"
            )
        return _excerpt(score, views, first, last)


_At = tuple[int, int]


def _place(views: tuple[MeasureView, ...], text: str) -> _At:
    """Return the measure and the tick in it that a text names."""
    found = _PLACE.fullmatch(text)
    if found is None:
        raise Refusal(f"{text!r} is no place in the music", way_out=_WAY_OUT)
    number, whole, decimals, above, below = found.groups()
    names = [view.measure.number for view in views]
    if number not in names:
        raise Refusal(
            f"there is no measure {number}", way_out=f"they go from {names[0]} to {names[-1]}"
        )
    view = views[names.index(number)]
    rest = Fraction(f"0{decimals}") if decimals else Fraction(0)
    rest += Fraction(int(above), int(below)) if above else 0
    beats = view.beats
    beat = int(whole) - 1
    if not 0 <= beat < len(beats) - 1 or not 0 <= rest < 1:
        raise Refusal(
            f"measure {number} has no beat {text.partition('/')[2]}",
            way_out=f"its beats go from 1 to {len(beats) - 1}",
        )
    tick = beats[beat] + rest * (beats[beat + 1] - beats[beat])
    return view.index, max(0, round(tick))


def _excerpt(score: Score, views: tuple[MeasureView, ...], first: _At, last: _At) -> Score:
    parts: list[Part] = []
    changes = [Change(_headline(views, first, last), _NAME)]
    for part in score.parts:
        outside = set(_outside(part, first, last))
        done, lines = drop_notes(part, outside, step=_NAME)
        parts.append(done)
        changes += lines
    if not any(timeline(part).takes for part in parts):
        raise Refusal("no note begins there", way_out="name other beats")
    cut, lines = cut_measures(
        with_parts(score, parts), tuple(range(first[0], last[0] + 1)), step=_NAME
    )
    changes += lines
    shortened: list[Part] = []
    for part in cut.parts:
        done, lines = _shortened(part, first[1])
        shortened.append(_rested(done, score.ticks))
        changes += lines
    return with_parts(cut, shortened, changes)


def _outside(part: Part, first: _At, last: _At) -> Iterator[NoteKey]:
    """Yield the notes that do not begin between two places, with all that is tied to them."""
    for take in timeline(part).takes:
        if not first <= (take.measure, take.tick) <= last:
            yield from take.heads
    for key, event in timeline(part).by_key.items():
        if not first <= (key[0], event.onset) <= last:
            yield from ((*key, index) for index, note in enumerate(event.notes) if not note.pitch)


def _headline(views: tuple[MeasureView, ...], first: _At, last: _At) -> str:
    start, end = views[first[0]], views[last[0]]
    begins = f"measure {start.measure.number}, beat {start.beat_text(first[1])}"
    ends = f"measure {end.measure.number}"
    if last[1] < end.measure.length:
        ends += f", beat {end.beat_text(last[1])}"
    return f"what begins from {begins}, to {ends}"


def _shortened(part: Part, cut: int) -> tuple[Part, list[Change]]:
    """Return the part with its first measure a pick-up that begins at a tick."""
    if not cut:
        return part, []
    measure, *others = part.measures
    gone = [one for one in measure.harmonies if 0 < one.onset < cut]
    held = [one for one in measure.harmonies if one.onset <= cut][-1:]
    changes = []
    if gone or (held and held[0].onset < cut):
        number = len([one for one in measure.harmonies if one.onset < cut])
        text = f"{count(number, 'chord symbol')} before it left out; what holds there is said again"
        changes.append(Change(text, _NAME, measure.number, part=part.id))

    def moved(onset: int) -> int:
        return max(0, onset - cut)

    voices = tuple(Voice(voice.id, tuple(_from(voice.events, cut))) for voice in measure.voices)
    harmonies: list[Harmony] = [replace(one, onset=0, frame="") for one in held]
    harmonies += [
        replace(one, onset=moved(one.onset)) for one in measure.harmonies if one.onset > cut
    ]
    directions = tuple(
        replace(one, onset=moved(one.onset))
        for one in measure.directions
        if one.onset >= cut or one.onset == 0 or one.quarters_per_minute is not None
    )
    head = replace(
        measure,
        length=measure.length - cut,
        is_implicit=True,
        voices=voices,
        harmonies=tuple(harmonies),
        directions=directions,
        attributes=tuple(replace(one, onset=moved(one.onset)) for one in measure.attributes),
        barlines=tuple(replace(one, onset=moved(one.onset)) for one in measure.barlines),
        carried=tuple(replace(one, onset=moved(one.onset)) for one in measure.carried),
    )
    return replace(part, measures=(head, *others)), changes


def _from(events: tuple[Event, ...], cut: int) -> Iterator[Event]:
    """Yield the events from a tick on, moved to the start; before it there are rests alone."""
    for event in events:
        if event.onset >= cut:
            yield replace(event, onset=event.onset - cut)


def _rested(part: Part, ticks: int) -> Part:
    """Return the part with the rests of its first and last measure written anew."""
    every = list(part.measures)
    found = writers(part, ticks, strict=False)
    for index in {0, len(every) - 1}:
        every[index] = _refilled(every[index], found[index])
    return replace(part, measures=tuple(every))


def _refilled(measure: Measure, writer: NotationWriter) -> Measure:
    voices = []
    for voice in measure.voices:
        sounding = [event for event in voice.events if event.notes or event.grace is not None]
        like = next((event for event in voice.events), None)
        kept = [event for event in voice.events if not event.notes]
        filled = _closed(
            writer, list(writer.filled(sounding, like=None if sounding else like, kept=kept))
        )
        is_cut = len(filled) != len(voice.events)
        voices.append(Voice(voice.id, writer.beamed(filled) if is_cut else tuple(filled)))
    return replace(measure, voices=tuple(voices))


def _closed(writer: NotationWriter, events: list[Event]) -> list[Event]:
    """Return the events with their brackets anew where the rests have taken an end of one."""
    roles = [mark.role for event in events for mark in event.marks if mark.family == "tuplet"]
    if roles.count("start") == roles.count("stop"):
        return events
    bare = [
        replace(event, marks=tuple(mark for mark in event.marks if mark.family != "tuplet"))
        for event in events
    ]
    return writer.bracketed(bare)
