"""Note names and chord names under the notes."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from tests.unit.marks.figures import TICKS, figure, lyrics_of
from variants.marks import apply_marks
from variants.marks.names import note_name
from variants.music import Pitch
from variants.score import Attributes, Harmony, Score, Transposition
from variants.score.symbols import symbol_name


def with_symbols(score: Score, *symbols: Harmony, capo: int = 0) -> Score:
    """Return a score with chord symbols in its first measure."""
    part = score.parts[0]
    assert part.instrument
    first = replace(part.measures[0], harmonies=symbols)
    held = replace(part.instrument, capo=capo)
    part = replace(part, measures=(first, *part.measures[1:]), instrument=held)
    return replace(score, parts=(part,))


@pytest.mark.parametrize(
    ("name", "letters", "solfege"),
    [
        ("C4", "C", "do"),
        ("F#4", "F♯", "fa♯"),
        ("Bb2", "B♭", "si♭"),
        ("F##4", "Fx", "fax"),
        ("Ebb3", "E♭♭", "mi♭♭"),
    ],
)
def test_note_name(name: str, letters: str, solfege: str) -> None:
    """A name is spelled as it is written."""
    pitch = Pitch.parse(name)
    assert (note_name(pitch), note_name(pitch, "solfege")) == (letters, solfege)


def test_quarter_tone() -> None:
    """Half a sharp is named as such."""
    assert note_name(Pitch("F", Fraction(1, 2), 4)) == "F½♯"


def test_chord_is_named_from_the_top() -> None:
    """The highest note stands on top, a name comes once, a held note is not named again."""
    score = figure("4/4", "q:E2+B2+E3 q:C3+G3 h~:D3 | h:D3 h:E3")
    assert lyrics_of(apply_marks(score, {}, "names"), "names") == ["E/B G/C D", "- E"]
    assert lyrics_of(apply_marks(score, {}, "names=bass"), "names") == ["E C D", "- E"]
    assert lyrics_of(apply_marks(score, {}, "names=top+solfege"), "names") == ["mi sol re", "- mi"]


def test_two_voices_share_one_stack() -> None:
    """The bass note stands under the melody's, not in its place."""
    score = apply_marks(figure("2/4", "h:E4", "q:C3 q:G2"), {}, "names")
    assert lyrics_of(score, "names") == ["E/C - G"]


def test_names_are_as_written_where_the_part_transposes() -> None:
    """A part that is written a tone higher than it sounds is read with its written names."""
    score = figure("1/4", "q:Bb3", instrument=None)
    part = score.parts[0]
    down = Attributes(0, metre=part.measures[0].attributes[0].metre,
                      transpositions=(Transposition(Fraction(-2), -1),))  # fmt: skip
    measure = replace(part.measures[0], attributes=(down,))
    score = replace(score, parts=(replace(part, measures=(measure,)),))
    assert lyrics_of(apply_marks(score, {}, "names"), "names") == ["C"]


@pytest.mark.parametrize(
    ("harmony", "name"),
    [
        (Harmony(0, ("A", 0), "minor"), "Am"),
        (Harmony(0, ("B", -1)), "B♭"),
        (Harmony(0, ("G", 0), "dominant", bass=("B", 0)), "G7/B"),
        (Harmony(0, ("C", 0), "major-seventh", text="M7"), "CM7"),
        (Harmony(0, ("E", 0), "power"), "E5"),
        (Harmony(0, ("D", 0), "major", degrees=((9, 0, "add"),)), "D(add9)"),
        (Harmony(0, ("D", 0), "dominant", degrees=((5, -1, "alter"), (3, 0, "subtract"))),
         "D7(♭5)(no3)"),
        (Harmony(0, None, "none"), "N.C."),
        (Harmony(0, None, "", xml="<function>I</function>"), ""),
    ],
)  # fmt: skip
def test_symbol_name(harmony: Harmony, name: str) -> None:
    """A chord symbol is named as the trade writes it."""
    assert symbol_name(harmony) == name


def test_chords_stand_where_they_change_or_under_each_stroke() -> None:
    """By default a name stands once; asked for, under every stroke."""
    symbols = (Harmony(0, ("A", 0), "minor"), Harmony(2 * TICKS, ("F", 0)))
    score = with_symbols(figure("4/4", "q q rq q"), *symbols)
    assert lyrics_of(apply_marks(score, {}, "chords"), "chords") == ["Am - F -"]
    assert lyrics_of(apply_marks(score, {}, "chords=each"), "chords") == ["Am Am F F"]


def test_chord_between_two_notes_stands_under_the_next() -> None:
    """A symbol in the middle of a held note belongs to what follows."""
    score = with_symbols(figure("4/4", "h h"), Harmony(TICKS, ("G", 0)))
    assert lyrics_of(apply_marks(score, {}, "chords"), "chords") == ["- G"]


def test_chord_after_the_last_note_goes_over_the_barline() -> None:
    """A symbol after the last onset of a measure stands under the first of the next."""
    score = with_symbols(figure("4/4", "w | w"), Harmony(3 * TICKS, ("G", 0)))
    assert lyrics_of(apply_marks(score, {}, "chords"), "chords") == ["-", "G"]


def test_shapes_over_a_capo() -> None:
    """Over a capo at fret 3 a sounding B flat is held as a G."""
    score = with_symbols(figure("4/4", "w"), Harmony(0, ("B", -1)), capo=3)
    assert lyrics_of(apply_marks(score, {}, "chords"), "chords") == ["B♭"]
    assert lyrics_of(apply_marks(score, {}, "chords=shape"), "chords") == ["G"]


def test_without_chord_symbols_nothing_is_written() -> None:
    """Chord names come from symbols only."""
    score = figure("4/4", "w:C3+E3+G3")
    assert apply_marks(score, {}, "chords") == score


def test_lines_do_not_share_a_verse() -> None:
    """Words of the source, counting, chords and names each have their own verse."""
    score = with_symbols(figure("1/4", "q"), Harmony(0, ("E", 0)))
    marked = apply_marks(score, {}, "counting,names,chords")
    lyrics = marked.parts[0].measures[0].voices[0].events[0].lyrics
    assert [(one.number, one.name) for one in lyrics] == [
        ("1", "counting"),
        ("2", "chords"),
        ("3", "names"),
    ]
