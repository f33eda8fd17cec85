"""A shape that moves along the neck keeps its strings and fingers."""

from __future__ import annotations

from variants.music import NoteValue, Pitch
from variants.score import STANDARD_GUITAR, Event, Measure, Note, Part, Place, Score, Voice, notes
from variants.steps import parse_step
from variants.variant import Variant, Wishes, make_variant


def _note(midi: str, string: int, fret: int, finger: str) -> Note:
    return Note(Pitch.parse(midi), place=Place(string, fret), finger=finger)


def _score(*chords: tuple[Note, ...]) -> Score:
    events = tuple(
        Event(4 * place, 4, NoteValue("quarter"), chord) for place, chord in enumerate(chords)
    )
    measure = Measure("1", 4 * len(chords), (Voice("1", events),))
    return Score(4, (Part("P1", "Guitar", (measure,), instrument=STANDARD_GUITAR),))


def _varied(score: Score, *steps: str, fingering: str = "keep") -> Variant:
    wishes = Wishes(fingering=fingering)  # type: ignore[arg-type]
    return make_variant(score, [parse_step(text) for text in steps], wishes)


def _held(made: Variant) -> list[tuple[int, int, str]]:
    found = []
    for note in notes(made.score.parts[0]):
        assert note.place is not None
        found.append((note.place.string, note.place.fret, note.finger))
    return found


# G major over two strings from finger 2, fingered as nobody would choose by weights alone.
_LINE = (
    (_note("A3", 4, 7, "2"),),
    (_note("B3", 4, 9, "4"),),
    (_note("C4", 3, 5, "1"),),
    (_note("D4", 3, 7, "3"),),
)
_POWER = (_note("C3", 5, 3, "1"), _note("G3", 4, 5, "4"))


def test_a_line_without_open_strings_moves_as_it_is() -> None:
    """One fret up, the same strings and fingers; the log has no line of it."""
    made = _varied(_score(*_LINE), "transpose:semitones=1")
    assert _held(made) == [(4, 8, "2"), (4, 10, "4"), (3, 6, "1"), (3, 8, "3")]
    assert not [one for one in made.changes if one.step == "fingering"]


def test_a_line_with_an_open_string_is_free() -> None:
    """An open string does not move; chords without one still do, and the log says the rest."""
    open_bass = (_note("A2", 5, 0, "0"),)
    made = _varied(_score(open_bass, _POWER, open_bass), "transpose:semitones=2")
    assert _held(made)[1:3] == [(5, 5, "1"), (4, 7, "4")]
    lines = [one for one in made.changes if one.step == "fingering"]
    assert [(one.measure, one.beat) for one in lines] == [("1", "1")]
    assert lines[0].message.startswith("2 notes were fingered in the file")


def test_off_the_neck_nothing_is_kept() -> None:
    """A chord whose shape would fall off the nut is fingered anew."""
    made = _varied(_score(_POWER), "transpose:semitones=-3")
    assert _held(made)[0] == (5, 0, "0")


def test_new_keeps_no_shape() -> None:
    """Where nothing is to be kept nothing moves along."""
    kept, new = (_varied(_score(_POWER), fingering=wish) for wish in ("keep", "new"))
    assert _held(kept) == [(5, 3, "1"), (4, 5, "4")]
    assert _held(new) != _held(kept)
