"""Our MIDI files, read again by two libraries of others and compared with the score.

Sources: mido (the file's own events and times) and music21 (its reading of the same MusicXML,
and of our MIDI file); the numbers are those of the MIDI 1.0 file format and General MIDI.
"""

from __future__ import annotations

import io
from collections import Counter
from fractions import Fraction
from pathlib import Path
from typing import Any

import mido
import pytest

from tests.unit.sheets.pages import ROOT, SAMPLES, fingered
from variants.musicxml import read, to_bytes
from variants.score import Score, onsets
from variants.score.playing import playing
from variants.sheets import sounds, to_midi


def _named(path: Path) -> str:
    return path.stem


def _file(data: bytes) -> Any:  # noqa: ANN401 - mido has no types
    return mido.MidiFile(file=io.BytesIO(data))


def _heard(track: Any, division: int) -> list[tuple[Fraction, int]]:  # noqa: ANN401 - as above
    """Return (start in quarters, MIDI number) of each note of a track."""
    now, found = 0, []
    for message in track:
        now += message.time
        if message.type == "note_on" and message.velocity:
            found.append((Fraction(now, division), message.note))
    return sorted(found)


def _written(score: Score, part: int) -> list[tuple[Fraction, int]]:
    """Return (start in quarters, MIDI number) of each onset of a part, repeats played once."""
    chosen = score.parts[part]
    starts, now = [], 0
    for measure in chosen.measures:
        starts.append(now)
        now += measure.length
    return sorted(
        {
            (Fraction(starts[one.measure] + one.tick, score.ticks), int(height))
            for one in onsets(chosen)
            for height in one.semitones
        }
    )


@pytest.mark.parametrize("path", SAMPLES, ids=_named)
def test_mido_hears_the_onsets(path: Path) -> None:
    """Each part is one track with the score's pitches at the score's onsets; ties are joined."""
    score = read(path)
    file = _file(to_midi(score, repeats=False))
    assert file.type == 1
    assert len(file.tracks) == len(score.parts) + 1
    for index in range(len(score.parts)):
        heard = _heard(file.tracks[index + 1], file.ticks_per_beat)
        assert heard == _written(score, index)


@pytest.mark.parametrize("path", SAMPLES, ids=_named)
def test_tab_is_not_doubled(path: Path) -> None:
    """A fingered piece with a tab staff sounds as it does without."""
    assert to_midi(fingered(path)) == to_midi(read(path))


@pytest.mark.parametrize("path", SAMPLES, ids=_named)
def test_notes_end(path: Path) -> None:
    """Every note that begins ends, before the same pitch begins again, and the tracks are long."""
    score = read(path)
    file = _file(to_midi(score))
    for track in file.tracks[1:]:
        down: Counter[int] = Counter()
        for message in track:
            if message.type == "note_on":
                down[message.note] += 1
                assert down[message.note] == 1
            elif message.type == "note_off":
                down[message.note] -= 1
        assert not +down


@pytest.mark.parametrize("path", SAMPLES, ids=_named)
def test_music21_hears_the_same(path: Path) -> None:
    """music21 reads from our MIDI the sounding pitches and onsets that it reads from MusicXML."""
    music21 = pytest.importorskip("music21")
    score = read(path)
    of_file = music21.converter.parse(to_bytes(score).decode(), format="musicxml")
    of_midi = music21.midi.translate.midiFileToStream(_read_midi(to_midi(score, repeats=False)))
    assert _stream(of_midi, of_notation=False) == _stream(of_file, of_notation=True)


def _read_midi(data: bytes) -> Any:  # noqa: ANN401 - music21 is read without its types
    import music21

    file = music21.midi.MidiFile()
    file.readstr(data)
    return file


def _stream(score: Any, *, of_notation: bool) -> Counter[tuple[Fraction, int]]:  # noqa: ANN401
    found: Counter[tuple[Fraction, int]] = Counter()
    shown = score.toSoundingPitch() if of_notation else score
    # Its MIDI reader splits what is held over a bar line, and ties it.
    flat = shown.stripTies().flatten()
    for one in flat.notes:
        if one.duration.isGrace or "Harmony" in one.classes or not hasattr(one, "pitches"):
            continue
        for pitch in one.pitches:
            found[Fraction(one.offset).limit_denominator(480), pitch.midi] = 1
    return found


def test_tempo_metre_key_and_program() -> None:
    """The first track holds tempo, metre and key; the other its program (General MIDI 25, nylon).

    ♩. = 96 is 144 quarters a minute, so a quarter lasts 60,000,000 / 144 microseconds.
    """
    file = _file(to_midi(read(ROOT / "samples" / "irish-washerwoman.musicxml")))
    first = {m.type: m for m in file.tracks[0]}
    assert first["set_tempo"].tempo == round(60_000_000 / 144)
    assert (first["time_signature"].numerator, first["time_signature"].denominator) == (6, 8)
    assert first["key_signature"].key == "G"
    program = next(m for m in file.tracks[1] if m.type == "program_change")
    assert program.program == 24


def test_repeats_are_played() -> None:
    """A repeated piece lasts twice as long, as music21 unfolds it."""
    music21 = pytest.importorskip("music21")
    path = ROOT / "samples" / "auld-lang-syne.musicxml"
    score = read(path)
    unfolded = music21.converter.parse(path).parts[0].expandRepeats()
    theirs = [measure.number for measure in unfolded.getElementsByClass("Measure")]
    ours = [int(score.parts[0].measures[i].number) for i in playing(score).order]
    assert ours == theirs
    once, twice = (sounds(score, score.parts[0], repeats=r) for r in (False, True))
    assert len(twice) == 2 * len(once)


def test_same_bytes() -> None:
    """Two runs give the same bytes."""
    score = read(SAMPLES[0])
    assert to_midi(score) == to_midi(score)
