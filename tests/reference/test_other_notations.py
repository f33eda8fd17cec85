"""Pieces in ABC, kern, MIDI and MEI are read as they are meant.

The expected pitches follow from the published descriptions, named beside each; kern and MEI pieces
of some length are those that music21 ships, compared with music21's own view of them.
"""

from __future__ import annotations

import io
from fractions import Fraction
from pathlib import Path

import mido
import pytest

from tests.oracles.corpus_files import music21_folder
from tests.oracles.independent import heard_in_score
from tests.xsd import validate
from variants.convert import format_of, read_other
from variants.errors import InputError
from variants.limits import parse_limits
from variants.musicxml import settle_octaves, to_bytes
from variants.musicxml.octave import Reading
from variants.score import Score, events

ABC = "X:1\nT:A scale\nM:3/4\nL:1/4\nK:D\n|:DEF|GAB|c>d e|[DFA]3:|\n"
# ABC standard 2.1: C is middle C, c the octave above it; K:D sharpens F and C.
ABC_NAMES = ["D4", "E4", "F#4", "G4", "A4", "B4", "C#5", "D5", "E5", "D4 F#4 A4"]
# Humdrum kern reference: c is middle C, cc above it, C below it; 4 a quarter, 8. a dotted eighth.
KERN = "**kern\n*clefG2\n*k[f#]\n*M2/4\n=1-\n4c\n8.f#\n16cc\n=2\n2B-\n==\n*-\n"
KERN_NAMES = ["C4", "F#4", "C5", "Bb3"]
MEI = """<mei xmlns="http://www.music-encoding.org/ns/mei"><music><body><mdiv><score>
<scoreDef meter.count="2" meter.unit="4" keysig="1f"><staffGrp><staffDef n="1" lines="5"
clef.shape="G" clef.line="2"/></staffGrp></scoreDef>
<section><measure n="1"><staff n="1"><layer n="1">
<note pname="b" accid.ges="f" oct="4" dur="4"/><note pname="c" oct="5" dur="4"/></layer></staff>
</measure></section></score></mdiv></body></music></mei>"""
# MEI guidelines: pname, oct as in scientific pitch notation, accid.ges what sounds.
MEI_NAMES = ["Bb4", "C5"]


def midi(*numbers: int, key: str = "", ticks: int = 480) -> bytes:
    """Return a MIDI file of quarters, made by mido."""
    file = mido.MidiFile(ticks_per_beat=ticks)
    track = mido.MidiTrack()
    file.tracks.append(track)
    if key:
        track.append(mido.MetaMessage("key_signature", key=key, time=0))
    for number in numbers:
        track.append(mido.Message("note_on", note=number, velocity=80, time=0))
        track.append(mido.Message("note_off", note=number, velocity=0, time=ticks))
    buffer = io.BytesIO()
    file.save(file=buffer)
    return buffer.getvalue()


def made(data: bytes | str, ending: str) -> Score:
    """Return what is read of a text, octaves as written."""
    kind = format_of(f"a{ending}")
    assert kind is not None
    return read_other(data.encode() if isinstance(data, str) else data, kind, name=f"a{ending}")


def names(score: Score) -> list[str]:
    """Return the notes of the first part, chords together."""
    return [
        " ".join(str(note.pitch) for note in event.notes)
        for _, event in events(score.parts[0])
        if event.notes and not all(note.tie_stop for note in event.notes)
    ]


@pytest.mark.parametrize(
    ("data", "ending", "expected"),
    [(ABC, ".abc", ABC_NAMES), (KERN, ".krn", KERN_NAMES), (MEI, ".mei", MEI_NAMES)],
)
def test_names(data: str, ending: str, expected: list[str]) -> None:
    """The notes are those that the description of the notation says."""
    score = made(data, ending)
    assert names(score) == expected
    assert validate(to_bytes(score)) == []
    assert any("music21" in str(line) for line in score.changes)


def test_rhythm_and_repeats_of_abc() -> None:
    """``c>d`` is dotted and short (ABC standard 2.1, broken rhythm); the repeat is a repeat."""
    score = made(ABC, ".abc")
    lengths = [Fraction(e.duration, score.ticks) for _, e in events(score.parts[0]) if e.notes]
    assert lengths[6:8] == [Fraction(3, 2), Fraction(1, 2)]
    barlines = [one.repeat for m in score.parts[0].measures for one in m.barlines if one.repeat]
    assert barlines == ["forward", "backward"]


def test_midi_sounds_as_it_says() -> None:
    """MIDI 60 is middle C (MIDI specification) and stays it: no guitar's octave is assumed."""
    score = settle_octaves(made(midi(60, 64, 67, 72), ".mid"), Reading.AUTO)
    assert names(score) == ["C4", "E4", "G4", "C5"]
    assert any("guessed from the notes" in str(line) for line in score.changes)


def test_midi_is_spelled_by_its_key() -> None:
    """In B flat major 70 is a B flat, in B major a A sharp (common practice)."""
    assert names(made(midi(70, 65, key="Bb"), ".mid")) == ["Bb4", "F4"]
    assert names(made(midi(70, 66, key="B"), ".mid")) == ["A#4", "F#4"]


def test_abc_is_read_as_guitarists_read() -> None:
    """A plain treble clef sounds an octave lower here too, and the log says so."""
    score = settle_octaves(made(ABC, ".abc"), Reading.AUTO)
    assert names(score)[0] == "D3"
    assert any("octave" in str(line) for line in score.changes)


@pytest.mark.parametrize("ending", [".abc", ".krn", ".mei", ".mid"])
def test_two_runs_give_the_same_bytes(ending: str) -> None:
    """music21 names its parts by memory addresses; ours are numbered."""
    data = {".abc": ABC, ".krn": KERN, ".mei": MEI}.get(ending) or midi(60, 62)
    first, second = to_bytes(made(data, ending)), to_bytes(made(data, ending))
    assert first == second
    assert b'id="P1"' in first
    assert b"Music21" not in first


def test_a_kern_piece_of_four_voices() -> None:
    """A Kyrie as music21 hears it: as many parts, measures and notes (its own count)."""
    from music21 import converter

    path = music21_folder() / "corpus" / "palestrina" / "Kyrie_31_b.krn"
    ours = heard_in_score(made(path.read_bytes(), ".krn"))
    theirs = converter.parse(path, forceSource=True, storePickle=False)
    counts = [len(list(part.recurse().notes)) for part in theirs.parts]
    assert [sum(map(len, part.measures)) for part in ours] == counts


@pytest.mark.parametrize(
    ("data", "ending", "said"),
    [
        (b"", ".abc", "empty"),
        (b"hello", ".abc", "there is no tune"),
        (b"X:1\nT:Nothing\nK:C\n\n", ".abc", "no music"),
        (b"hello", ".krn", "cannot be read as Humdrum kern"),
        (b"hello", ".mid", "no MIDI file"),
        (midi(60)[:30], ".mid", "cut off"),
        (midi(60, ticks=1)[:12] + b"\xe7\x28" + midi(60)[14:], ".mid", "film frames"),
        (b"<html/>", ".mei", "no MEI"),
        (b"<mei", ".mei", "damaged"),
        (b'<!DOCTYPE a [<!ENTITY x "y">]><mei>&x;</mei>', ".mei", "entities"),
    ],
)
def test_bad_files_are_one_line(data: bytes, ending: str, said: str) -> None:
    """What is no score is refused in one line with a way out."""
    with pytest.raises(InputError) as caught:
        made(data, ending)
    assert said in str(caught.value)
    assert "\n" not in str(caught.value)
    assert caught.value.way_out


def test_silence_without_end_is_refused() -> None:
    """A MIDI file that waits for days is refused before rests are made of it."""
    file = mido.MidiFile(file=io.BytesIO(midi(60, 62)))
    file.tracks[0][1].time = 480 * 100_000
    buffer = io.BytesIO()
    file.save(file=buffer)
    with pytest.raises(InputError, match="longer than any score"):
        made(buffer.getvalue(), ".mid")


def test_limits_hold_here_too() -> None:
    """The bound on notes counts what music21 made of the file."""
    kind = format_of("a.abc")
    assert kind is not None
    with pytest.raises(InputError, match="too many notes"):
        read_other(ABC.encode(), kind, name="a.abc", limits=parse_limits("notes=3"))


def test_endings() -> None:
    """Upper case endings are the same; MusicXML is none of these."""
    found = [format_of(name) for name in ("A.ABC", "a.midi", "a.kern", "a.xml", "a")]
    assert [one.name if one else "" for one in found] == ["ABC", "MIDI", "Humdrum kern", "", ""]
    assert Path("a").suffix == ""


def test_short_first_measure_is_a_pick_up() -> None:
    """ABC has no sign for a pick-up (common practice: what stands before the first bar line)."""
    score = made(ABC.replace("|:DEF|", "F|DEF|"), ".abc")
    assert [one.is_implicit for one in score.parts[0].measures[:3]] == [True, False, False]
    assert any("taken for a pick-up" in change.message for change in score.changes)
    assert not any(measure.is_implicit for measure in made(ABC, ".abc").parts[0].measures)
