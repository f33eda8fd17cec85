"""A score as a Standard MIDI File, written by ourselves: the same bytes for the same score.

Format 1 of the MIDI 1.0 specification (RP-001): a first track with tempo, metre and key, then
one track a part. A tab staff under notation is the same part, so it is never doubled. Tied notes
are one note. Grace notes sound before the beat, in time taken from what came before. Repeats,
endings and jumps are unfolded unless asked otherwise; cue notes and unpitched notes are silent.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

from variants.performance.sounding import inner_tempi, order_of, sounds
from variants.score import Score, measures
from variants.score.playing import playing

# General MIDI level 1: program 25 (here from 0) is the acoustic guitar with nylon strings, and
# channel 10 (here 9) is for drums.
GUITAR_PROGRAM = 24
_DRUMS = 9
MADE_BY = "neckwise"
_VELOCITY = 84
_FINE_TICKS = 480
_MOST_TICKS = 0x7FFF
_MICROSECONDS_A_MINUTE = 60_000_000


def to_midi(score: Score, *, repeats: bool = True) -> bytes:
    """Return a score as a Standard MIDI File.

    Args:
        score: The score.
        repeats: Whether repeats, endings and jumps are played out.
    """
    factor = max(1, -(-_FINE_TICKS // score.ticks))
    division = min(score.ticks * factor, _MOST_TICKS)
    tracks = [_conductor(score, division, repeats=repeats)]
    tracks += [_track(score, index, division, repeats=repeats) for index in range(len(score.parts))]
    head = b"MThd" + _word(6, 4) + _word(1, 2) + _word(len(tracks), 2) + _word(division, 2)
    return head + b"".join(b"MTrk" + _word(len(track), 4) + track for track in tracks)


# An event at a tick: (tick, rank at that tick, bytes).
_Timed = tuple[int, int, bytes]
_META, _OFF, _ON = range(3)


def _conductor(score: Score, division: int, *, repeats: bool) -> bytes:
    """Return the first track: title, tempo, metre and key."""
    # Kind 1 is plain text, kind 3 the name of a track, in the first one that of the piece.
    events: list[_Timed] = [(0, _META, _text(0x01, MADE_BY)), (0, _META, _text(0x03, score.title))]
    if not score.parts:
        return _chunk(events, 0)
    if repeats:
        events += [(0, _META, _text(0x01, doubt)) for doubt in playing(score).doubts]
    part = score.parts[0]
    views = measures(part, score.ticks)
    start = Fraction(0)
    last: dict[str, bytes] = {}

    def say(what: str, at: Fraction, data: bytes) -> None:
        if last.get(what) != data:
            last[what] = data
            events.append((_tick(at, division), _META, data))

    for index in order_of(score, part, repeats=repeats):
        view = views[index]
        say("tempo", start, _tempo(view.quarters_per_minute))
        if view.metre.is_measured:
            say("metre", start, _metre(view.metre.beats, view.metre.beat_types))
        say("key", start, _key(view.key.fifths, view.key.mode))
        for at, tempo in inner_tempi(score, index):
            if at:
                say("tempo", start + at, _tempo(tempo))
        start += Fraction(view.measure.length, score.ticks)
    return _chunk(events, _tick(start, division))


def _track(score: Score, index: int, division: int, *, repeats: bool) -> bytes:
    part = score.parts[index]
    channel = index % 15
    channel += channel >= _DRUMS
    program = part.midi_program - 1 if part.midi_program else GUITAR_PROGRAM
    events: list[_Timed] = [
        (0, _META, _text(0x03, part.name or part.id)),
        (0, _META, bytes((0xC0 | channel, program & 0x7F))),
    ]
    end = 0
    for sound in sounds(score, part, repeats=repeats):
        if not 0 <= sound.midi <= 127:
            continue
        on = _tick(sound.start, division)
        off = max(on + 1, _tick(sound.start + sound.length, division))
        events.append((on, _ON, bytes((0x90 | channel, sound.midi, _VELOCITY))))
        events.append((off, _OFF, bytes((0x80 | channel, sound.midi, 64))))
        end = max(end, off)
    return _chunk(events, end)


def _chunk(events: list[_Timed], end: int) -> bytes:
    ordered = sorted(events, key=lambda event: event[:2])
    times = [0, *(event[0] for event in ordered)]
    data = b"".join(
        _length(after - before) + event[2]
        for (before, after), event in zip(pairwise(times), ordered, strict=True)
    )
    return data + _length(max(0, end - times[-1])) + b"\xff\x2f\x00"


def _tick(quarters: Fraction, division: int) -> int:
    return round(quarters * division)


def _word(value: int, size: int) -> bytes:
    return value.to_bytes(size, "big")


def _length(value: int) -> bytes:
    """Return a variable-length quantity: seven bits a byte, the high bit on all but the last.

    >>> _length(0x3FFF).hex(), _length(0x4000).hex()
    ('ff7f', '818000')
    """
    data = [value & 0x7F]
    while value := value >> 7:
        data.append(0x80 | (value & 0x7F))
    return bytes(reversed(data))


def _text(kind: int, text: str) -> bytes:
    data = text.encode("utf-8")
    return bytes((0xFF, kind)) + _length(len(data)) + data


def _tempo(quarters_per_minute: Fraction) -> bytes:
    micros = min(0xFFFFFF, max(1, round(_MICROSECONDS_A_MINUTE / quarters_per_minute)))
    return b"\xff\x51\x03" + _word(micros, 3)


def _metre(beats: tuple[str, ...], types: tuple[int, ...]) -> bytes:
    """Return a metre; one that is added from several is written over its shortest beat."""
    under = max(types)
    over = sum(
        sum(int(one) for one in text.split("+")) * under // kind
        for text, kind in zip(beats, types, strict=True)
    )
    # The lower number is stored as a power of two; clocks a click and 32nds a quarter as usual.
    return bytes((0xFF, 0x58, 4, min(over, 255), max(0, under.bit_length() - 1), 24, 8))


def _key(fifths: int, mode: str) -> bytes:
    sharps = max(-7, min(7, fifths))
    return bytes((0xFF, 0x59, 2, sharps & 0xFF, mode == "minor"))
