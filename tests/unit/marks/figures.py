"""Rhythms in a short notation, as scores to mark.

A voice is a line of tokens: ``w h q e s t`` (whole to 32nd) with points for dots; ``r`` in front
for a rest, ``~`` behind for a tie to the next note, ``3`` for a triplet's note, ``5`` for a
quintuplet's, ``2`` for a duplet's (two in the time of three); ``:E2+B2`` names what sounds, E4 if
nothing is named, ``:B3@3.4`` where (string 3, fret 4). ``|`` parts measures; a first one that is
short is a pick-up.
"""

from __future__ import annotations

import re

from tests.strategies import STANDARD
from variants.music import Metre, NoteValue, Pitch
from variants.score import Attributes, Event, Instrument, Measure, Note, Part, Place, Score, Voice

TICKS = 240
_TYPES = {"w": "whole", "h": "half", "q": "quarter", "e": "eighth", "s": "16th", "t": "32nd"}
_TUPLETS = {"": (1, 1), "3": (3, 2), "5": (5, 4), "2": (2, 3)}
_TOKEN = re.compile(r"(r?)([whqest])(\.*)([352]?)(~?)(?::(\S+))?\Z")


def metre_of(text: str) -> Metre:
    """Return the metre of ``4/4``, ``3+2/8``."""
    beats, kind = text.split("/")
    return Metre((beats,), (int(kind),))


def figure(metre: str, *voices: str, instrument: Instrument | None = STANDARD) -> Score:
    """Return a score of one part with the voices that are written."""
    texts = [[bar.split() for bar in voice.split("|")] for voice in voices]
    lines = [_voice(bars) for bars in texts]
    measures = []
    full = int(metre_of(metre).quarters * TICKS)
    for index in range(len(lines[0])):
        events = [Voice(str(number), line[index]) for number, line in enumerate(lines, 1)]
        length = max((voice.events[-1].end for voice in events if voice.events), default=full)
        attributes = (Attributes(0, metre=metre_of(metre)),) if index == 0 else ()
        short = index == 0 and length < full
        measures.append(Measure(str(index + (not short)), length, tuple(events), short, attributes))
    return Score(TICKS, (Part("P1", "Guitar", tuple(measures), instrument),), "Figure")


def _voice(bars: list[list[str]]) -> list[tuple[Event, ...]]:
    found, held = [], False
    for bar in bars:
        onset, events = 0, []
        for token in bar:
            match = _TOKEN.match(token)
            assert match, token
            rest, kind, dots, tuplet, tie, names = match.groups()
            value = NoteValue(_TYPES[kind], len(dots), *_TUPLETS[tuplet])
            notes = () if rest else _notes(names or "E4", held=held, tied=bool(tie))
            held = bool(tie)
            assert value.quarters
            events.append(Event(onset, int(value.quarters * TICKS), value, notes))
            onset += events[-1].duration
        found.append(tuple(events))
    return found


def _notes(names: str, *, held: bool, tied: bool) -> tuple[Note, ...]:
    notes = []
    for name in names.split("+"):
        pitch, _, place = name.partition("@")
        where = Place(*map(int, place.split("."))) if place else None
        notes.append(Note(Pitch.parse(pitch), held, tied, where))
    return tuple(notes)


def lyrics_of(score: Score, name: str) -> list[str]:
    """Return the lyrics of a name, measure by measure, ``-`` where an event has none."""
    measures = []
    for measure in score.parts[0].measures:
        texts = [
            "/".join(lyric.text for lyric in event.lyrics if lyric.name == name) or "-"
            for voice in measure.voices
            for event in voice.events
        ]
        measures.append(" ".join(texts).replace("\u2009", "_"))
    return measures
