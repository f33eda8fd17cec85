"""Mend what the seams between measures cut: ties, beams, and words of the lyrics.

A seam is where a measure follows another one than in the source, or the result begins or ends
inside of it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace

from variants.music.pitch import Alteration
from variants.score import Change, Event, Lyric, Measure, Voice, map_places, with_notes
from variants.score.notation import writers
from variants.steps.framework.log import Scribe

# What a note is tied by on each side of a measure, and what happens where the other end is not.
_INTO, _OUT = "tie_stop", "tie_start"
_CUT = {
    _INTO: "is held over from another measure in the source: struck here",
    _OUT: "sounds on in the source: it ends with its measure here",
}
# What the beam of a note says if another note before it, or after it, shares it.
_JOINED = {_INTO: ("continue", "end"), _OUT: ("begin", "continue")}
_GOES_ON = ("begin", "middle")
_GOES_BACK = ("middle", "end")
# A syllable of which the word before it, or after it, is cut off.
_WITHOUT_HEAD = {"middle": "begin", "end": "single"}
_WITHOUT_TAIL = {"begin": "single", "middle": "end"}
_SYLLABIC = re.compile(r"(<syllabic>)\s*(\w+)\s*(</syllabic>)")

# A line of lyrics: voice, verse, name.
_Verse = tuple[str, str, str]
# Of a syllable: measure, voice, event and lyric, each counted from 0.
_Place = tuple[int, int, int, int]


class Seams:
    """The seams of a part whose measures are put into another order.

    Args:
        log: Scribe of the part.
        order: Indices of its measures.
    """

    def __init__(self, log: Scribe, order: tuple[int, ...]) -> None:
        self.log = log
        self.order = order
        self.writers = writers(log.part, log.score.ticks)

    def begins(self, place: int) -> bool:
        """Whether a measure follows another one than in the source, or begins the result."""
        before = self.order[place - 1] if place else -1
        return before != self.order[place] - 1

    def _cuts(self, place: int, side: str) -> bool:
        """Whether the measure before a place, or after it, is another than in the source."""
        if side == _INTO:
            return (place > 0 or self.order[0] > 0) and self.begins(place)
        if place + 1 < len(self.order):
            return self.begins(place + 1)
        return self.order[place] + 1 < len(self.log.part.measures)

    def _beside(self, place: int, side: str) -> Measure | None:
        """Return the measure of the source that stands before a place, or after it."""
        other = place - 1 if side == _INTO else place + 1
        if not 0 <= other < len(self.order):
            return None
        return self.log.part.measures[self.order[other]]

    def mended(self, place: int, measure: Measure) -> tuple[Measure, list[Change]]:
        """Return the measure at a place with its own ties and beams, and what that changed."""
        lines: list[Change] = []
        for side, other in ((_INTO, _OUT), (_OUT, _INTO)):
            if self._cuts(place, side):
                beside = self._beside(place, side)
                tied = list(_tied(beside, other)) if beside else []
                measure = self._untied(place, measure, side, tied, lines)
                measure = self._beamed(place, measure, side)
        return measure, lines

    def _untied(
        self,
        place: int,
        measure: Measure,
        side: str,
        tied: list[Alteration],
        lines: list[Change],
    ) -> Measure:
        """Return the measure without the ties that lead to a note that is not there."""
        voices = tuple(
            Voice(
                voice.id,
                tuple(
                    self._cut(place, event, side, tied, lines)
                    if _is_at_edge(event, measure, side)
                    else event
                    for event in voice.events
                ),
            )
            for voice in measure.voices
        )
        return measure if voices == measure.voices else replace(measure, voices=voices)

    def _cut(
        self, place: int, event: Event, side: str, tied: list[Alteration], lines: list[Change]
    ) -> Event:
        notes = []
        for note in event.notes:
            if not getattr(note, side) or note.pitch is None:
                notes.append(note)
            elif note.pitch.semitones in tied:
                tied.remove(note.pitch.semitones)
                notes.append(note)
            else:
                text = f"{note.pitch} {_CUT[side]}"
                lines.append(self.log.at(self.order[place], event.onset, text))
                into = side == _INTO
                notes.append(
                    replace(note, tie_stop=False) if into else replace(note, tie_start=False)
                )
        return with_notes(event, tuple(notes)) if tuple(notes) != event.notes else event

    def _beamed(self, place: int, measure: Measure, side: str) -> Measure:
        """Return the measure with its voices beamed anew where a beam leads out of it."""
        voices = []
        for voice in measure.voices:
            timed = [event for event in voice.events if event.grace is None]
            edge = timed[0 if side == _INTO else -1] if timed else None
            if edge is not None and edge.beams and edge.beams[0] in _JOINED[side]:
                voice = Voice(voice.id, self.writers[self.order[place]].beamed(voice.events))  # noqa: PLW2901
            voices.append(voice)
        return replace(measure, voices=tuple(voices))

    def with_whole_words(self, measures: list[Measure]) -> tuple[list[Measure], list[Change]]:
        """Return the measures with words that begin and end in them, and what was cut."""
        cut: dict[_Place, str] = {}
        for verse in _verses(measures).values():
            cut |= self._cut_words(verse)
        lines = []
        for place, voice, event, lyric in sorted(cut):
            at = measures[place].voices[voice].events[event]
            text = f'"{at.lyrics[lyric].text}" is part of a word that is cut off here'
            lines.append(self.log.at(self.order[place], at.onset, text))
        touched = {place for place, *_ in cut}
        done = [
            _sung(measure, place, cut) if place in touched else measure
            for place, measure in enumerate(measures)
        ]
        return done, lines

    def _cut_words(self, verse: list[tuple[_Place, str]]) -> dict[_Place, str]:
        """Return the syllables of a verse whose words are cut, with what they are then."""
        kinds = [kind for _, kind in verse]
        before, is_open = -1, False
        for number, ((place, *_), kind) in enumerate(verse):
            if any(self._cuts(one, _INTO) for one in range(before + 1, place + 1)):
                if is_open and kind not in _GOES_BACK:
                    kinds[number - 1] = _WITHOUT_TAIL[kinds[number - 1]]
                if not is_open:
                    kinds[number] = _WITHOUT_HEAD.get(kind, kind)
            before, is_open = place, kind in _GOES_ON
        if is_open and self._cuts(len(self.order) - 1, _OUT):
            kinds[-1] = _WITHOUT_TAIL[kinds[-1]]
        return {key: new for (key, old), new in zip(verse, kinds, strict=True) if new != old}


def _is_at_edge(event: Event, measure: Measure, side: str) -> bool:
    """Whether an event begins with its measure, or ends with it."""
    if side == _INTO:
        return not event.onset and event.grace is None
    return event.end == measure.length


def _tied(measure: Measure, side: str) -> Iterator[Alteration]:
    """Yield the heights that are tied into a measure, or out of it."""
    for event in measure.events:
        if _is_at_edge(event, measure, side):
            for note in event.notes:
                if getattr(note, side) and note.pitch is not None:
                    yield note.pitch.semitones


def _verses(measures: Sequence[Measure]) -> dict[_Verse, list[tuple[_Place, str]]]:
    """Return the syllables of each verse in order, with their kinds."""
    found: dict[_Verse, list[tuple[_Place, str]]] = {}
    for place, measure in enumerate(measures):
        for number, voice in enumerate(measure.voices):
            for index, event in enumerate(voice.events):
                for at, lyric in enumerate(event.lyrics):
                    # A text of several syllables under one note is not taken apart.
                    if len(_SYLLABIC.findall(lyric.xml)) == 1:
                        verse = (voice.id, lyric.number, lyric.name)
                        key = (place, number, index, at)
                        found.setdefault(verse, []).append((key, lyric.syllabic))
    return found


def _sung(measure: Measure, place: int, cut: dict[_Place, str]) -> Measure:
    """Return the measure with some of its syllables of another kind."""

    def sung(at: tuple[int, int], event: Event) -> Event:
        lyrics = tuple(
            _of_kind(lyric, cut.get((place, *at, number), lyric.syllabic))
            for number, lyric in enumerate(event.lyrics)
        )
        return event if lyrics == event.lyrics else replace(event, lyrics=lyrics)

    return map_places(measure, sung)


def _of_kind(lyric: Lyric, kind: str) -> Lyric:
    if kind == lyric.syllabic:
        return lyric
    return replace(lyric, syllabic=kind, xml=_SYLLABIC.sub(rf"\g<1>{kind}\g<3>", lyric.xml))
