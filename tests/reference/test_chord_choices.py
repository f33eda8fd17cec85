"""What the steps on chords choose, against what first books print.

Each case names its source, or says "common practice": what tutors and lead sheets agree on.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.strategies import line, tokens
from variants.pipeline import run
from variants.score import Harmony, Mark, Place, Score, Voice, with_parts
from variants.score.symbols import symbol_name
from variants.steps import parse_step


def after(step: str, score: Score) -> Score:
    """Return the score after a step, its contract proven."""
    return run(score, [parse_step(step)]).score


def told(score: Score) -> str:
    """Return the change log as text."""
    return " | ".join(str(change) for change in score.changes)


@pytest.mark.parametrize(
    ("before", "turned"),
    [
        # Riffs in fourths: the root goes down, and the hand stays between frets 0 and 5.
        ("E3+A3 G3+C4 A3+D4 E3+A3", "A2+E3 C3+G3 D3+A3 A2+E3"),
        ("D3+G3 E3+A3 F3+Bb3 G3+C4", "G2+D3 A2+E3 Bb2+F3 C3+G3"),
        # Riffs in fifths: the fifth goes below its root, on the same two frets.
        ("A2+E3 C3+G3 D3+A3 A2+E3", "E2+A2 G2+C3 A2+D3 E2+A2"),
        # E5 has no fifth below on six strings: then it is the root in all of them.
        ("E2+B2 G2+D3 A2+E3 E2+B2", "B2+E3 D3+G3 E3+A3 B2+E3"),
    ],
)
def test_power_chords_turned(before: str, turned: str) -> None:
    """Fifths and fourths of a riff lie low on the neck in one shape; common practice."""
    assert tokens(after("invert-dyads", line(before))) == turned


def test_the_choice_is_told_with_its_frets() -> None:
    """The log says which note moves in all of them, and what the other way would have cost."""
    result = after("invert-dyads", line("E3+A3 G3+C4 A3+D4 E3+A3"))
    assert "the root goes down in all of them: frets 0 to 5, instead of frets" in told(result)


def symbols(score: Score) -> str:
    """Return the chord symbols of a score in order."""
    found = [one for measure in score.parts[0].measures for one in measure.harmonies]
    return " ".join(symbol_name(one) for one in found)


BLOCK_CHORDS = (
    "C3+G3 E4 C3+G3 E4",
    "F2+C3 A3 F3+A3+C4:h",
    "G2+D3 B3 G3+B3 F4",
    "C3+G3:h C3+E3+G3+C4:h",
    "A2+E3 C4 A2+E3 C4",
    "D3+A3 F4 D3+A3 F4",
    "G2+D3 F3 B3 D4",
    "C3+E3+G3+C4:w",
)


def test_a_third_later_in_the_measure_counts() -> None:
    """Symbols stand by the harmony, with thirds where the measure has them; common practice.

    A strummed or picked bar that begins with root and fifth is no power chord where the third
    comes on the second beat, and is named once.
    """
    result = after("harmonize-chords", line(*BLOCK_CHORDS))
    assert symbols(result) == "C F G7 C Am Dm G7 C"


def test_a_melody_alone_gets_no_symbol() -> None:
    """A lead sheet's chord is not told from one note, nor from a scale; common practice."""
    result = after("harmonize-chords", line("C4 D4 E4 F4", "G4:w", "E4+G4:h r", "A4 B4 A4 G4"))
    assert "1/" not in symbols(result)
    tune = after("harmonize-chords", line("C4 D4 E4 F4", "G4:w", "A4 B4 A4 G4"))
    assert symbols(tune) == ""
    assert "nothing is changed" in told(tune)


@pytest.mark.parametrize(
    ("root", "kind", "bass", "frets"),
    [
        # First-year grips of slash chords, string 6 to string 1; common practice of songbooks.
        ("D", "major", "F#", "2x0232"),
        ("G", "major", "B", "x20003"),
        ("C", "major", "G", "332010"),
        ("A", "minor", "G", "302210"),
        ("E", "minor", "G", "322000"),
        ("C", "major", "B", "x22010"),
    ],
)
def test_slash_chords_of_a_first_year(root: str, kind: str, bass: str, frets: str) -> None:
    """The grip has the bass that the symbol names."""
    low = bass[0], bass.count("#")
    held = strummed_chord(Harmony(0, (root, 0), kind, bass=low), "strum:pattern=whole")
    strings = {place.string: str(place.fret) for place in held[0]}
    assert "".join(strings.get(string, "x") for string in range(6, 0, -1)) == frets


@pytest.mark.parametrize(
    ("root", "kind", "basses"),
    [
        # Bass strings in turn, (string, fret); common practice of accompaniment in first books.
        ("C", "major", [(5, 3), (4, 2)]),
        ("G", "major", [(6, 3), (4, 0)]),
        ("D", "major", [(4, 0), (5, 0)]),
        ("A", "minor", [(5, 0), (4, 2)]),
        ("E", "minor", [(6, 0), (5, 2)]),
    ],
)
def test_the_bass_alternates(root: str, kind: str, basses: list[tuple[int, int]]) -> None:
    """Root and fifth in turn on the strong beats."""
    held = strummed_chord(Harmony(0, (root, 0), kind), "strum:pattern=bass-chord")
    assert [(one[0].string, one[0].fret) for one in held[::2]] == basses


def strummed_chord(symbol: Harmony, step: str) -> list[list[Place]]:
    """Return the places of each stroke in a measure of common time."""
    score = line("C4:w")
    measure = replace(score.parts[0].measures[0], harmonies=(symbol,))
    named = with_parts(score, [replace(score.parts[0], measures=(measure,))])
    events = after(step, named).parts[0].measures[0].voices[0].events
    return [[note.place for note in event.notes if note.place] for event in events]


def test_a_revoiced_chord_keeps_the_tune() -> None:
    """The top note stays, or the bass when asked; common practice of voicing under a melody."""
    music = line("G3+C4+E4 G3+B3+D4 A3+D4+F4")
    tops = [token.split("+")[-1] for token in tokens(music).split()]
    done = after("revoice:shape=root-position", music)
    assert [token.split("+")[-1] for token in tokens(done).split()] == tops
    low = after("revoice:keep=bass", line("C3+G3+C4+E4 G2+D3+G3+B3"))
    assert [token.split("+")[0] for token in tokens(low).split()] == ["C3", "G2"]


def test_an_inversion_that_cannot_be_is_named() -> None:
    """A power chord has no third to put below; a triad's second inversion is its fifth's."""
    done = after("revoice:shape=1st-inversion", line("C3+G3 C3+E3+G3"))
    assert "1 chord cannot be 1st-inversion and stay" in told(done)
    assert "C3 G3" in told(done)


def test_chords_of_a_kind_get_one_shape() -> None:
    """Three major triads get the same order of notes; common practice of parallel chords."""
    done = after("revoice:shape=1st-inversion", line("C3+E3+G3 D3+F#3+A3 F3+A3+C4"))
    heights = [event.notes for event in done.parts[0].measures[0].voices[0].events]
    steps = {
        tuple(int(note.pitch.semitones - row[0].pitch.semitones) % 12 for note in row if note.pitch)
        for row in heights
        if row and row[0].pitch
    }
    assert len(steps) == 1


@pytest.mark.parametrize(
    ("xml", "plain"),
    [
        ("<bend><bend-alter>2</bend-alter></bend>", "E4 G4"),
        ("<bend><bend-alter>1</bend-alter></bend>", "Eb4 G4"),
        ("<bend><bend-alter>2</bend-alter><pre-bend/></bend>", "E4 G4"),
        # Let down again, it ends where it began; a quarter tone is a colour of its own note.
        ("<bend><bend-alter>-2</bend-alter><release/></bend>", "D4 G4"),
        ("<bend><bend-alter>0.5</bend-alter></bend>", "D4 G4"),
    ],
)
def test_a_bend_left_out_is_the_note_it_goes_to(xml: str, plain: str) -> None:
    """A tune whose bend is left out has the bent pitch; common practice of easy versions.

    The element is that of the W3C MusicXML 4.0 standard: semitones in ``bend-alter``.
    """
    music = line("D4:h G4:h")
    part = music.parts[0]
    events = part.measures[0].voices[0].events
    bent = replace(events[0].notes[0], marks=(Mark("technical", "bend", "", "", xml),))
    voice = Voice("1", (replace(events[0], notes=(bent,)), events[1]))
    measure = replace(part.measures[0], voices=(voice,))
    score = with_parts(music, [replace(part, measures=(measure,))])
    assert tokens(after("drop-ornaments", score)) == plain
