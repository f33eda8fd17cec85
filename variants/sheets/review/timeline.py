"""When what sounds, in seconds at the written tempo, as the page's script takes it.

Repeats and jumps are played out, as in the MIDI file. Seconds are rounded to a tenth of a
millisecond, far below what can be heard, so that the page stays small.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import accumulate
from typing import Any

from variants.music import Metre
from variants.performance.sounding import sounds, tempi_met
from variants.score import MeasureView, Part, Score, measures
from variants.score.playing import playing
from variants.score.timeline import Clock

_ROUND = 4
_SENZA_MISURA = (Fraction(1),)


def timeline(score: Score) -> dict[str, Any]:
    """Return what is played of a score.

    Returns:
        ``measures``: for each written measure its printed number. ``order``: for each measure as
        played its index, start, length, and how long one of its beats is; ``clicks``: for each
        beat its time and whether it begins a measure; ``before``: for each measure as played the
        clicks that count it in, their times below 0; ``notes``: start, length, MIDI
        number, head (``part.measure.voice.event.note``), string and fret of each note.
    """
    part = score.parts[0]
    views = measures(part, score.ticks)
    order = [index for index in playing(score).order if index < len(views)]
    starts = list(accumulate((views[i].quarters for i in order), initial=Fraction(0)))
    clock = Clock([(at, 60 / rate) for at, rate in tempi_met(score, views, order)])
    return {
        "measures": [view.measure.number for view in views],
        "order": [
            [index, _short(clock.at(start)), _short(clock.at(stop) - clock.at(start))]
            for index, start, stop in zip(order, starts, starts[1:], strict=False)
        ],
        "clicks": _clicks(score, views, order, starts, clock),
        "before": [_before(views[index]) for index in order],
        "notes": [
            note for number in range(len(score.parts)) for note in _notes(score, number, clock)
        ],
    }


def _short(seconds: Fraction) -> float:
    return round(float(seconds), _ROUND)


def _beats(metre: Metre) -> list[Fraction]:
    """Return where the beats of a full measure begin, and its end, in quarters."""
    lengths = metre.beat_lengths or _SENZA_MISURA
    return list(accumulate(lengths, initial=Fraction(0)))


def _clicks(
    score: Score,
    views: tuple[MeasureView, ...],
    order: list[int],
    starts: list[Fraction],
    clock: Clock,
) -> list[list[float | int]]:
    found: list[list[float | int]] = []
    for index, start in zip(order, starts, strict=False):
        view = views[index]
        for number, beat in enumerate(view.beats):
            if 0 <= beat < view.measure.length:
                at = clock.at(start + Fraction(beat) / score.ticks)
                found.append([_short(at), int(number == 0)])
    return found


def _before(view: MeasureView) -> list[list[float | int]]:
    """Return the clicks of a full measure, and of what a pick-up leaves out, before a measure."""
    rate = 60 / view.quarters_per_minute
    beats = _beats(view.metre)
    gone = view.missing
    counted = [(beat - beats[-1] - gone, not number) for number, beat in enumerate(beats[:-1])]
    counted += [(beat - gone, not number) for number, beat in enumerate(beats) if beat < gone]
    return [[_short(at * rate), int(strong)] for at, strong in counted]


def _notes(score: Score, number: int, clock: Clock) -> list[list[float | int | str]]:
    part: Part = score.parts[number]
    found: list[list[float | int | str]] = []
    for sound in sounds(score, part):
        measure, voice, event, index = sound.head
        note = part.measures[measure].voices[voice].events[event].notes[index]
        start = clock.at(sound.start)
        length = clock.at(sound.start + sound.length) - start
        place = f"{number}.{note.place.string}.{note.place.fret}" if note.place else ""
        head = f"{number}.{measure}.{voice}.{event}.{index}"
        found.append([_short(start), _short(length), sound.midi, head, place])
    return found
