"""Every chord grip that is shipped: its notes, the hand that holds it, and published shapes.

Sources: for C, D, G, B7 and F the chord data of GitHub ``tombatossals/chords-db`` (trade list, 61);
for the four-string F and Bm the 1906 edition of Carcassi's op. 59 (MutopiaProject, 19); for the
power chords the tables of liquisearch.com, article "power chord" (34). The notes of each kind are
those of `variants.music.chordkinds`, which are held against music21 elsewhere. The laws of the
hand are those of `variants.guitar.grip`, stated there note by note.
"""

from __future__ import annotations

import pytest

from tests.oracles.grip_laws import is_legal
from variants.guitar import STANDARD, instrument_for
from variants.guitar.grip import Reach
from variants.guitar.hand import Hand
from variants.guitar.shapes import ChordGrip, Shape, WantedChord, find_grip, shapes
from variants.music import Key, Pitch, spelled
from variants.music.chordkinds import chord_name, chord_tones
from variants.music.chordtext import chord_text, plain_text

GUITAR = instrument_for(STANDARD)
REACH = Reach(
    open_midi=GUITAR.open_midi,
    top_frets=(22,) * 6,
    offsets=(0,) * 6,
    scale_mm=GUITAR.scale_length_mm,
    hand=Hand.of("medium"),
    strings=(1, 2, 3, 4, 5, 6),
)


def heights(grip: ChordGrip) -> list[int]:
    """Return the MIDI numbers of a grip from the lowest string up."""
    return [GUITAR.open_midi[string - 1] + fret for string, fret, _ in grip.stops]


def label(shape: Shape) -> str:
    """Return a name for the test's id."""
    return f"{shape.root}-{shape.kind}-{'-'.join(map(str, shape.grip.stops[0]))}"


@pytest.mark.parametrize("shape", shapes(), ids=label)
def test_notes(shape: Shape) -> None:
    """A grip has all notes of its chord and no other, its bass or else its root the lowest."""
    tones = chord_tones(shape.kind, shape.degrees)
    assert tones is not None
    wanted = {(shape.root + tone.semitones) % 12 for tone in tones}
    heard = {height % 12 for height in heights(shape.grip)}
    lowest = shape.root if shape.bass is None else shape.bass
    assert min(heights(shape.grip)) % 12 == lowest
    assert heard <= wanted | {lowest}
    # A seventh chord may do without its fifth (common practice); nothing else is left out.
    fifth = {(shape.root + 7) % 12} if shape.kind == "dominant" else set()
    assert wanted - heard <= fifth


@pytest.mark.parametrize("shape", shapes(), ids=label)
def test_hand(shape: Shape) -> None:
    """A hand of medium size can hold it on a 650 mm scale, finger by finger, in millimetres."""
    assert is_legal(shape.grip.stops, REACH)
    assert all((fret == 0) == (finger == 0) for _, fret, finger in shape.grip.stops)
    strings = [string for string, _, _ in shape.grip.stops]
    assert strings == sorted(strings, reverse=True)
    assert len(set(strings)) == len(strings)
    if shape.is_movable:
        assert all(fret for _, fret, _ in shape.grip.stops)


@pytest.mark.parametrize(
    ("root", "kind", "barre", "published"),
    [
        ("C", "major", "never", "x32010/032010"),  # 61, and Carcassi 59: 5:3/3 4:2/2 2:1/1
        ("D", "major", "never", "xx0232/000132"),  # 61
        ("G", "major", "never", "320003/210003"),  # 61
        ("B", "dominant", "never", "x21202/021304"),  # 61
        ("F", "major", "full", "133211/134211"),  # 61
        ("F", "major", "small", "xx3211/003211"),  # 19, b_I
        ("B", "minor", "full", "x24432/013421"),  # 19, B_II
        ("G", "power", "never", "355xxx/134000"),  # 34, and 33 for the fingers 1-3-4
        ("E", "power", "never", "022xxx/012xxx"),  # common practice
        ("E", "minor", "never", "022000/023000"),  # common practice
        ("A", "minor", "never", "x02210/002310"),  # common practice
        ("D", "minor", "never", "xx0231/000231"),  # common practice; 19 has 2-4-1
    ],
)
def test_published(root: str, kind: str, barre: str, published: str) -> None:
    """The grips of the sources are those that are found for their chord."""
    chord = WantedChord(int(Pitch.parse(f"{root}4").pitch_class), kind)
    assert find_grip(chord, GUITAR, barre=barre) == ChordGrip.parse(published)


@pytest.mark.parametrize(
    ("name", "string"), [("D5", 5), ("G5", 4)], ids=("root on string 5", "root on string 4")
)
def test_published_power_chords(name: str, string: int) -> None:
    """1-5-8 on other strings (34): D5 is 5:5 4:7 3:7, and G5 is 4:5 3:7 2:8."""
    published = {"D5": {(5, 5), (4, 7), (3, 7)}, "G5": {(4, 5), (3, 7), (2, 8)}}[name]
    form = next(
        shape
        for shape in shapes()
        if shape.kind == "power" and shape.is_movable and shape.grip.stops[0][0] == string
    )
    root = int(Pitch.parse(f"{name[0]}4").pitch_class)
    grip = form.grip.moved((root - form.root) % 12)
    assert {(one, fret) for one, fret, _ in grip.stops} == published


@pytest.mark.parametrize(
    ("name", "published"),
    [
        # The shapes of the 1906 edition of op. 59 that are not shipped as grips (19).
        ("Dm/F", "xx3231/xx3241"),
        ("Eb", "x6534x/x4312x"),
        ("Cm", "x3554x/x1342x"),
        ("E", "0xx454/0xx121"),
        ("Bb", "6x8766/1x4211"),
        ("D5", "x577xx/x134xx"),  # 34
        ("G5/D", "x55xxx/x11xxx"),  # 34: the fourth, one finger
    ],
)
def test_published_shapes_can_be_held_and_named(name: str, published: str) -> None:
    """Every other published shape is one that our hand can hold, and has the name it was given."""
    frets, fingers = published.split("/")
    stops = tuple(
        (string, int(fret), int(finger))
        for string, fret, finger in zip(range(6, 0, -1), frets, fingers, strict=True)
        if fret != "x"
    )
    assert is_legal(stops, REACH)
    pitches = [
        spelled(GUITAR.open_midi[string - 1] + fret, Key(-3 if "b" in name or "m" in name else 0))
        for string, fret, _ in stops
    ]
    found = chord_name(pitches)
    assert found is not None
    assert plain_text(chord_text(found.root, found.kind, bass=found.bass)) == name
