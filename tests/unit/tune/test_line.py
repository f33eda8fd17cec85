"""Which line of a part is the tune, on small scores where a musician would not doubt."""

from __future__ import annotations

from fractions import Fraction

import pytest

from variants.errors import UsageError
from variants.music import NoteValue, Pitch
from variants.score import Event, Lyric, Measure, Note, Part, Voice
from variants.tune.line import tune_of

QUARTER = NoteValue("quarter")


def _events(*texts: str, words: tuple[str, ...] = ()) -> tuple[Event, ...]:
    """Return quarters at 4 ticks: ``C4+E4`` sounds together, ``-`` is a rest."""
    found = []
    for place, text in enumerate(texts):
        notes = () if text == "-" else tuple(Note(Pitch.parse(one)) for one in text.split("+"))
        lyrics: tuple[Lyric, ...] = ()
        if place < len(words) and words[place]:
            lyrics = (Lyric("1", "single", words[place], ""),)
        found.append(Event(4 * place, 4, QUARTER, notes, lyrics=lyrics))
    return tuple(found)


def _part(*voices: tuple[str, tuple[Event, ...]]) -> Part:
    measure = Measure("1", 16, tuple(Voice(name, events) for name, events in voices))
    return Part("P1", "Guitar", (measure,))


def _names(part: Part, wish: str = "auto") -> tuple[str, list[str]]:
    tune = tune_of(part, wish=wish)
    return tune.kind, [str(note.pitch) for note in tune.notes]


def test_single_line() -> None:
    """A line alone is the tune, all of it."""
    part = _part(("1", _events("C4", "E4", "G4", "C5")))
    assert _names(part) == ("top", ["C4", "E4", "G4", "C5"])


def test_melody_over_chords_is_on_top() -> None:
    """The highest note of each onset is sung (common practice)."""
    part = _part(("1", _events("C3+E4", "E3+F4", "C3+G4", "B2+D4")))
    assert _names(part) == ("top", ["E4", "F4", "G4", "D4"])


def test_accompaniment_under_a_held_note() -> None:
    """What begins below a melody note that still sounds is accompaniment."""
    melody = (Event(0, 16, NoteValue("whole"), (Note(Pitch.parse("G4")),)),)
    part = _part(("1", melody), ("2", _events("C3", "G3", "E4", "G3")))
    assert _names(part) == ("top", ["G4"])


def test_a_silent_upper_voice_hands_over() -> None:
    """A measure in which the upper voice is silent keeps its tune: rests never replace it."""
    upper = Measure("1", 16, (Voice("1", _events("E5", "D5", "C5", "D5")),))
    lower = Measure("2", 16, (Voice("2", _events("C4", "D4", "E4", "F4")),))
    kind, names = _names(Part("P1", "Guitar", (upper, lower)))
    assert (kind, names[4:]) == ("top", ["C4", "D4", "E4", "F4"])


def test_power_chords_are_a_riff_of_roots() -> None:
    """The root is the lower note of a fifth and the upper one of a fourth (common practice)."""
    part = _part(("1", _events("A2+E3", "G2+D3+G3", "E3+A3", "D3+A3")))
    assert _names(part) == ("roots", ["A2", "G2", "A3", "D3"])


def test_the_voice_with_words() -> None:
    """Words tell which voice is sung, wherever it lies."""
    low = _events("C4", "D4", "E4", "F4", words=("so", "we", "go", "on"))
    part = _part(("1", _events("C5", "E5", "G5", "E5")), ("2", low))
    assert _names(part) == ("words", ["C4", "D4", "E4", "F4"])


def test_a_tune_in_the_bass() -> None:
    """Chords that only repeat above a moving bass accompany it."""
    chords = _events("E4+G4", "E4+G4", "E4+G4", "E4+G4")
    part = _part(("1", chords), ("2", _events("C3", "D3", "E3", "G3")))
    assert _names(part) == ("bottom", ["C3", "D3", "E3", "G3"])


def test_what_the_user_says_holds() -> None:
    """A wish comes before everything that is found."""
    part = _part(("1", _events("A2+E3", "G2+D3", "C3+G3", "D3+A3")))
    assert _names(part, "top") == ("top", ["E3", "D3", "G3", "A3"])
    assert _names(part, "voice 1")[0] == "voice 1"


@pytest.mark.parametrize(
    ("wish", "cause", "way_out"),
    [
        ("voice 7", "the part has no such voice", "its voices are 1"),
        ("middle", "no such line", "say auto, top, bottom, roots or voice N"),
    ],
)
def test_wrong_wishes(wish: str, cause: str, way_out: str) -> None:
    """A wish that cannot be is one line with cause and way out."""
    part = _part(("1", _events("C4", "E4", "G4", "C5")))
    with pytest.raises(UsageError, match=f"{cause}.*{way_out}"):
        tune_of(part, wish=wish)


def test_a_tied_note_is_one() -> None:
    """Ties make one note, which lasts to the end of the last."""
    pitch = Pitch.parse("E4")
    first = Measure("1", 4, (Voice("1", (Event(0, 4, QUARTER, (Note(pitch, tie_start=True),)),)),))
    second = Measure("2", 4, (Voice("1", (Event(0, 4, QUARTER, (Note(pitch, tie_stop=True),)),)),))
    (note,) = tune_of(Part("P1", "", (first, second))).notes
    assert (note.start, note.end) == (0, 8)
    assert Fraction(note.end - note.start, 4) == 2
