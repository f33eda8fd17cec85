"""What every first book prints: open scales, open chords, power chords, scales in position.

Source: common practice, from memory; no edition is copied. In the first position each finger has
its own fret, and a note that an open string has is played open; the shapes of open chords are
those of ``tests/reference/test_chord_grips.py``; a power chord has fingers 1 and 3 (and 4 for the
octave); a scale in position keeps one finger a fret.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from variants.fingering import Passage, PassageNote, Settings, finger, roman
from variants.guitar import instrument_for, parse_tuning
from variants.music import Pitch
from variants.music.key import spelled
from variants.score.timeline import NO_KEY

FIRST = Settings(open_strings="usual")

# Name: (notes in quarters, ``+`` for those struck together; string:fret/finger of each).
LINES: dict[str, tuple[str, str]] = {
    "C major": (
        "C3 D3 E3 F3 G3 A3 B3 C4 D4 E4 F4 G4",
        "5:3/3 4:0/0 4:2/2 4:3/3 3:0/0 3:2/2 2:0/0 2:1/1 2:3/3 1:0/0 1:1/1 1:3/3",
    ),
    "G major": (
        "G2 A2 B2 C3 D3 E3 F#3 G3 A3 B3 C4 D4 E4 F#4 G4",
        "6:3/3 5:0/0 5:2/2 5:3/3 4:0/0 4:2/2 4:4/4 3:0/0 3:2/2 2:0/0 2:1/1 2:3/3 1:0/0 1:2/2 1:3/3",
    ),
    "F major": (
        "F2 G2 A2 Bb2 C3 D3 E3 F3 G3 A3 Bb3 C4 D4 E4 F4",
        "6:1/1 6:3/3 5:0/0 5:1/1 5:3/3 4:0/0 4:2/2 4:3/3 3:0/0 3:2/2 3:3/3 2:1/1 2:3/3 1:0/0 1:1/1",
    ),
    "A minor": (
        "A2 B2 C3 D3 E3 F3 G3 A3 B3 C4 D4 E4",
        "5:0/0 5:2/2 5:3/3 4:0/0 4:2/2 4:3/3 3:0/0 3:2/2 2:0/0 2:1/1 2:3/3 1:0/0",
    ),
    "E minor pentatonic": (
        "E2 G2 A2 B2 D3 E3 G3 A3 B3 D4 E4 G4",
        "6:0/0 6:3/3 5:0/0 5:2/2 4:0/0 4:2/2 3:0/0 3:2/2 2:0/0 2:3/3 1:0/0 1:3/3",
    ),
    "E minor pentatonic, a riff": (
        "E4 G4 E4 D4 B3 D4 E4 G4",
        "1:0/0 1:3/3 1:0/0 2:3/3 2:0/0 2:3/3 1:0/0 1:3/3",
    ),
    "Ode to Joy": (
        "E4 E4 F4 G4 G4 F4 E4 D4 C4 C4 D4 E4 E4 D4 D4",
        "1:0/0 1:0/0 1:1/1 1:3/3 1:3/3 1:1/1 1:0/0 2:3/3 2:1/1 2:1/1 2:3/3 1:0/0 1:0/0 2:3/3 2:3/3",
    ),
}
CHORDS: dict[str, tuple[str, str]] = {
    "C Am": (
        "C3+E3+G3+C4+E4 A2+E3+A3+C4+E4",
        "5:3/3 4:2/2 3:0/0 2:1/1 1:0/0 5:0/0 4:2/2 3:2/3 2:1/1 1:0/0",
    ),
    "D A7 D": (
        "D3+A3+D4+F#4 A2+E3+G3+C#4+E4 D3+A3+D4+F#4",
        "4:0/0 3:2/1 2:3/3 1:2/2 5:0/0 4:2/2 3:0/0 2:2/3 1:0/0 4:0/0 3:2/1 2:3/3 1:2/2",
    ),
    "E B7 E": (
        "E2+B2+E3+G#3+B3+E4 B2+D#3+A3+B3+F#4 E2+B2+E3+G#3+B3+E4",
        (
            "6:0/0 5:2/2 4:2/3 3:1/1 2:0/0 1:0/0 5:2/2 4:1/1 3:2/3 2:0/0 1:2/4 "
            "6:0/0 5:2/2 4:2/3 3:1/1 2:0/0 1:0/0"
        ),
    ),
    "Am Dm E7": (
        "A2+E3+A3+C4+E4 D3+A3+D4+F4 E2+B2+D3+G#3+B3+E4",
        "5:0/0 4:2/2 3:2/3 2:1/1 1:0/0 4:0/0 3:2/2 2:3/3 1:1/1 6:0/0 5:2/2 4:0/0 3:1/1 2:0/0 1:0/0",
    ),
    "a shuffle in E": (
        "E2+B2 E2+B2 E2+C#3 E2+C#3",
        "6:0/0 5:2/1 6:0/0 5:2/1 6:0/0 5:4/3 6:0/0 5:4/3",
    ),
    "power chords": (
        "E2+B2 G2+D3 A2+E3 C3+G3 D3+A3 B2+F#3",
        "6:0/0 5:2/1 6:3/1 5:5/3 5:0/0 4:2/1 5:3/1 4:5/3 4:0/0 3:2/1 5:2/1 4:4/3",
    ),
    "power chords with octaves": (
        "G2+D3+G3 C3+G3+C4 F2+C3+F3 Bb2+F3+Bb3",
        "6:3/1 5:5/3 4:5/4 5:3/1 4:5/3 3:5/4 6:1/1 5:3/3 4:3/4 5:1/1 4:3/3 3:3/4",
    ),
    "one low fifth": ("G2+D3", "6:3/1 5:5/3"),
    "three strings, two open": ("G3+B3+G4", "3:0/0 2:0/0 1:3/3"),
}
# Scale, wished position, places.
IN_POSITION: dict[str, tuple[str, int, str]] = {
    "D major from string 5": (
        "D3 E3 F#3 G3 A3 B3 C#4 D4",
        4,
        "5:5/2 5:7/4 4:4/1 4:5/2 4:7/4 3:4/1 3:6/3 3:7/4",
    ),
    "C major over two octaves": (
        "C3 D3 E3 F3 G3 A3 B3 C4 D4 E4 F4 G4 A4 B4 C5",
        7,
        (
            "6:8/2 6:10/4 5:7/1 5:8/2 5:10/4 4:7/1 4:9/3 4:10/4 "
            "3:7/1 3:9/3 3:10/4 2:8/2 2:10/4 1:7/1 1:8/2"
        ),
    ),
    "A minor pentatonic": (
        "A2 C3 D3 E3 G3 A3 C4 D4 E4 G4 A4 C5",
        5,
        "6:5/1 6:8/4 5:5/1 5:7/3 4:5/1 4:7/3 3:5/1 3:7/3 2:5/1 2:8/4 1:5/1 1:8/4",
    ),
    "B minor pentatonic": (
        "B2 D3 E3 F#3 A3 B3 D4 E4 F#4 A4 B4 D5",
        7,
        "6:7/1 6:10/4 5:7/1 5:9/3 4:7/1 4:9/3 3:7/1 3:9/3 2:7/1 2:10/4 1:7/1 1:10/4",
    ),
}


def passage(text: str) -> Passage:
    """Return quarters, four to a measure; ``C3+E3`` is struck together."""
    groups = text.split()
    return Passage(
        notes=tuple(
            PassageNote(onset=4 * i, duration=4, midi=Pitch.parse(name).midi, measure=i // 4)
            for i, group in enumerate(groups)
            for name in group.split("+")
        ),
        ticks_per_quarter=4,
        measure_starts=tuple(range(0, 4 * len(groups), 16)),
    )


def places(text: str, wishes: Settings = FIRST) -> list[str]:
    """Return string:fret/finger of each note."""
    notes = finger(passage(text), wishes).notes
    return [f"{note.string}:{note.fret}/{note.finger}" for note in notes]


@pytest.mark.parametrize("name", LINES)
def test_lines_in_the_first_position(name: str) -> None:
    """Common practice: open strings, and each finger at its own fret."""
    notes, expected = LINES[name]
    assert places(notes) == expected.split()


@pytest.mark.parametrize("name", CHORDS)
def test_chords(name: str) -> None:
    """Common practice: open shapes, power chords on strings side by side."""
    notes, expected = CHORDS[name]
    assert places(notes) == expected.split()


@pytest.mark.parametrize("name", IN_POSITION)
def test_scales_in_position(name: str) -> None:
    """Common practice: one finger a fret, and no open string that would leave the position."""
    notes, position, expected = IN_POSITION[name]
    wishes = Settings(open_strings="usual", position=position)
    assert places(notes, wishes) == expected.split()


def test_a_position_next_to_the_wished_one_serves_a_scale_better() -> None:
    """E major up and down lies in VI without a stretch: played there when VII is wished."""
    scale = "E3 F#3 G#3 A3 B3 C#4 D#4 E4 D#4 C#4 B3 A3 G#3 F#3 E3"
    hands = finger(passage(scale), Settings(open_strings="usual", position=7)).hands
    assert {roman(hand.position) for hand in hands} == {"VI"}


def test_a_chord_without_the_first_finger_is_named_by_its_lowest_finger() -> None:
    """Fingers 2 and 3 at fret 2 stand in position I: E minor as every chord book has it."""
    chord = finger(passage("E2+B2+E3+G3+B3+E4"), FIRST)
    assert [note.finger for note in chord.notes] == [0, 2, 3, 0, 0, 0]
    assert chord.hands[0].position == 1


def test_a_ukulele_line_leaves_the_high_fourth_string_alone() -> None:
    """C major on a ukulele (gCEA): from string 3 to string 1, as every first book has it."""
    line = replace(
        passage("C4 D4 E4 F4 G4 A4 B4 C5"),
        tuning_midi=(69, 64, 60, 67),
        scale_length_mm=381.0,
        frets=15,
    )
    found = [f"{note.string}:{note.fret}/{note.finger}" for note in finger(line, FIRST).notes]
    assert found == ["3:0/0", "3:2/2", "2:0/0", "2:1/1", "2:3/3", "1:0/0", "1:2/2", "1:3/3"]


def test_two_beginnings_of_one_riff() -> None:
    """Fourths on strings side by side: one finger lies across two strings of a fret."""
    found = places("G3+C4 Bb3+Eb4 C4+F4")
    assert [place.partition("/")[0] for place in found] == [
        "3:0", "2:1", "3:3", "2:4", "2:1", "1:1",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("frets", "strings"), [((2, 5, 3, 5), 3), ((5, 8, 6, 3), 3), ((2, 4, 6, 8), 2)]
)
def test_power_chords_in_drop_d_take_one_finger(frets: tuple[int, ...], strings: int) -> None:
    """Strings 6, 5 and 4 of drop D are a fifth and an octave apart: one finger lies across them."""
    low = (38, 45, 50)[:strings]
    chords = " ".join("+".join(_name(midi + fret) for midi in low) for fret in frets)
    music = replace(passage(chords), tuning_midi=(64, 59, 55, 50, 45, 38))
    found = [f"{note.string}:{note.fret}" for note in finger(music, FIRST).notes]
    assert found == [f"{6 - up}:{fret}" for fret in frets for up in range(strings)]
    fingers = [note.finger for note in finger(music, FIRST).notes]
    assert all(len(set(fingers[i : i + strings])) == 1 for i in range(0, len(fingers), strings))


def _name(midi: int) -> str:
    return str(spelled(midi, NO_KEY))


def strung(text: str, tuning: str, wishes: Settings = FIRST) -> list[str]:
    """Return string:fret/finger of each note on another instrument."""
    built = instrument_for(parse_tuning(tuning))
    music = replace(
        passage(text),
        tuning_midi=tuple(pitch.midi for pitch in built.open_strings),
        scale_length_mm=built.scale_length_mm,
        frets=built.frets,
    )
    return [f"{note.string}:{note.fret}/{note.finger}" for note in finger(music, wishes).notes]


def test_a_mandolin_is_fingered_in_pairs_of_frets() -> None:
    """Common practice: as on a violin, each finger has two frets, and the fourth has fret 7."""
    scale = "G3 A3 B3 C4 D4 E4 F#4 G4 A4 B4 C5 D5 E5 F#5 G5 A5 B5"
    expected = (
        "4:0/0 4:2/1 4:4/2 4:5/3 3:0/0 3:2/1 3:4/2 3:5/3 2:0/0 "
        "2:2/1 2:3/2 2:5/3 1:0/0 1:2/1 1:3/2 1:5/3 1:7/4"
    )
    assert strung(scale, "mandolin") == expected.split()


def test_a_bass_player_takes_one_two_four_below_fret_five() -> None:
    """Simandl, New Method for the Double Bass: 1, 2, 4; common practice on the bass guitar."""
    scale = "F1 G1 A1 Bb1 C2 D2 E2 F2"
    wishes = Settings(open_strings="usual", convention="one-two-four")
    expected = "4:1/1 4:3/3 3:0/0 3:1/1 3:3/3 2:0/0 2:2/2 2:3/3"
    assert strung(scale, "bass-4") == expected.split()
    expected = "4:1/1 4:3/4 3:0/0 3:1/1 3:3/4 2:0/0 2:2/2 2:3/4"
    assert strung(scale, "bass-4", wishes) == expected.split()


def test_fret_three_is_the_third_fingers_or_the_fourths() -> None:
    """Common practice: the third finger in most first books, the fourth in many classical ones."""
    tune = "C4 D4 E4 D4 G4 F4 E4 D4 G3 F3 E3 C3"
    own, classical = (
        places(tune, Settings(open_strings="usual", convention=convention))
        for convention in ("own-fret", "classical")
    )
    assert [place.replace("3/3", "3/4") for place in own] == classical != own


@pytest.mark.parametrize(("dyads", "fingers"), [("one-finger", 1), ("two", 2)])
def test_two_notes_at_one_fret_take_as_many_fingers_as_are_wished(dyads: str, fingers: int) -> None:
    """Common practice: teachers allow one finger across two strings, and two fingers."""
    found = finger(passage("D4+G4 G2+C3"), Settings(open_strings="usual", dyads=dyads)).notes  # type: ignore[arg-type]
    pairs = [{found[i].finger, found[i + 1].finger} for i in range(0, len(found), 2)]
    assert [len(pair) for pair in pairs] == [fingers] * 2


def test_a_finger_that_a_hand_lacks_is_never_used() -> None:
    """Whatever the music, the other three play it."""
    for lacks in (1, 2, 3, 4):
        hand = tuple(own for own in (1, 2, 3, 4) if own != lacks)
        wishes = Settings(open_strings="usual", fingers=hand)
        found = finger(passage("G2 B2 C3 E3 F3 G3+C4+E4 Bb3 F4 G#4 A4 C5 E5"), wishes).notes
        assert lacks not in {note.finger for note in found}
