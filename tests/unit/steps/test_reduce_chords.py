"""Reduction on small scores."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.strategies import line, tokens
from variants.errors import UsageError
from variants.music import Metre, NoteValue, Pitch
from variants.pipeline import run
from variants.score import Attributes, Event, Harmony, Lyric, Mark, Note, Score, Voice, with_parts
from variants.score.survey import survey
from variants.steps import parse_step
from variants.steps.reduce_chords import ReduceChords


def reduced(to: str, score: Score, *, other: str = "outer") -> Score:
    """Return the reduced score, its contract proven."""
    return run(score, [ReduceChords(to=to, other=other)]).score


def log(score: Score) -> str:
    """Return the change log as text."""
    return " | ".join(str(change) for change in score.changes)


def voices(*lines: Score) -> Score:
    """Return the scores as voices of one part."""
    first = lines[0].parts[0]
    measures = tuple(
        replace(
            measure,
            voices=tuple(
                Voice(str(number), one.parts[0].measures[index].voices[0].events)
                for number, one in enumerate(lines, 1)
            ),
        )
        for index, measure in enumerate(first.measures)
    )
    return with_parts(lines[0], [replace(first, measures=measures)])


def values(score: Score) -> str:
    """Return the note values of a score."""
    return ", ".join(
        str(event.value)
        for measure in score.parts[0].measures
        for voice in measure.voices
        for event in voice.events
    )


@pytest.mark.parametrize(
    ("to", "before", "after"),
    [
        ("top", "C3+E3+G3+C4 G3 E2+B2", "C4 G3 B2"),
        ("bottom", "C3+E3+G3+C4 G3 E2+B2", "C3 G3 E2"),
        ("root", "E2+B2 B2+E3 G2+D3+G3", "E2 E3 G2"),
        ("root", "C3+E3+G3 E3+G3+C4 G3+C4+E4", "C3 C4 C4"),
        ("root", "G2+B2+D3+F3 B2+D3+F3+G3 F3+G3+B3+D4", "G2 G3 G3"),
        ("root", "C3+E3 E3+C4 F3+B3 C3+C4", "C3 C4 F3 C3"),
        ("root", "E2+B2+E3 G2+D3+G3 A2+E3+A3 D3+A3", "E2 G2 A2 D3"),
        ("dyad", "C3+G3+C4 E3+G3+C4 B2+D3+F3", "C3+C4 E3+C4 B2+F3"),
        ("dyad", "C3+C4+C5 C3+E3 A3", "C3+C5 C3+E3 A3"),
    ],
)
def test_what_is_left(to: str, before: str, after: str) -> None:
    """Roots by fifths, fourths and stacked thirds; a dyad is the outer notes.

    Common practice of reducing a texture: tune and bass, the outer voices, are what is kept; the
    roots of a riff are its lowest notes, where they are.
    """
    assert tokens(reduced(to, line(before))) == after


def test_a_dyad_with_the_fifth() -> None:
    """Root and fifth, when asked."""
    before, after = "C3+E3+G3+C4 E3+G3+C4 B2+D3+F3", "C3+G3 G3+C4 B2+F3"
    assert tokens(reduced("dyad", line(before), other="fifth")) == after


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ("C3+E3+G3", "C3+E3"),
        ("A2+E3+A3+C4+E4", "A2+C4"),
        ("E3+G3+C4", "E3+C4"),
        ("G2+D3+G3+C4", "G2+D3"),
    ],
)
def test_a_dyad_with_the_third(before: str, after: str) -> None:
    """The third says major or minor; without one the fifth stands in."""
    assert tokens(reduced("dyad", line(before), other="third")) == after


def test_chord_symbol_comes_first() -> None:
    """C E G A is A minor seventh in thirds, and C6 where the symbol says so."""
    score = line("C3+E3+G3+A3:h A2+C3+E3:h")
    symbol = Harmony(0, ("C", 0), "major-sixth")
    measure = replace(score.parts[0].measures[0], harmonies=(symbol,))
    named = with_parts(score, [replace(score.parts[0], measures=(measure,))])
    assert tokens(reduced("root", score)) == "A3 A2"
    assert tokens(reduced("root", named)) == "C3 C3"


def test_roots_of_a_riff_are_its_own() -> None:
    """C5 in a measure over which G stands is C's power chord: G alone is its fifth.

    Common practice: a riff's roots are named from its fifths and fourths. C is no note of G.
    """
    score = line("G2+D3 C3+G3 C3+G3+C4 D3+G3")
    symbol = Harmony(0, ("G", 0), "major")
    measure = replace(score.parts[0].measures[0], harmonies=(symbol,))
    named = with_parts(score, [replace(score.parts[0], measures=(measure,))])
    assert tokens(reduced("root", named)) == "G2 C3 C3 G3"


def test_symbol_whose_root_is_absent_is_passed_over() -> None:
    """A symbol that does not fit leaves it to the intervals."""
    score = line("D3+F3+A3:w")
    symbol = Harmony(0, ("C", 0), "major")
    measure = replace(score.parts[0].measures[0], harmonies=(symbol,))
    named = with_parts(score, [replace(score.parts[0], measures=(measure,))])
    assert tokens(reduced("root", named)) == "D3"


def test_two_voices_that_begin_together() -> None:
    """One note of the two is left, and the voice that has nothing more goes."""
    score = voices(line("E4 F4 G4 A4"), line("C3:h C3:h"))
    assert tokens(reduced("top", score)) == "E4 F4 G4 A4"
    assert [v.id for v in reduced("top", score).parts[0].measures[0].voices] == ["1"]
    result = reduced("bottom", score)
    assert tokens(result) == "C3 C3"
    assert "the lower voice stays; 2 notes of the others dropped" in log(result)


def test_a_voice_is_reduced_not_each_note() -> None:
    """A bass note under a held tune is not the tune, nor a note of the tune a root.

    Common practice: a reduction to the melody or to the bass is one of the two lines. E4 over
    G2 is no chord on E where the lower voice is asked for its roots.
    """
    score = voices(line("E4:h. F4:q", "r:w"), line("G2 C3 G2 C3", "A2+E3:h r:h"))
    assert tokens(reduced("top", score)) == "E4 F4 E3 r"
    assert tokens(reduced("root", score)) == "G2 C3 G2 C3 A2 r"


def test_held_notes_end_where_the_next_begins() -> None:
    """A note that would sound into the next is shortened, in one voice with the rest."""
    score = voices(line("C5:h. r"), line("E4:q C4:e D4:e E4:h"))
    result = reduced("bottom", score)
    assert tokens(result) == "E4 C4 D4 E4"
    held = line("C5:w~ C5:w", "E4:w")
    assert tokens(reduced("top", held)) == tokens(held)


def test_ties_are_cut() -> None:
    """A tied note that the next one interrupts loses its later pieces, over the barline too."""
    score = voices(line("C5:w~", "C5:w~", "C5:w"), line("r:w", "r:h E4:h", "r:w"))
    result = reduced("top", score)
    assert tokens(result) == "C5~ r C5~ C5 r"
    result = reduced("bottom", score)
    # The silent voice stays in measures where nothing is left to write anew.
    assert tokens(result) == "C5~ r C5 E4 r r"
    assert not survey(result).parts[0].loose_ties


def test_values_that_take_a_tie() -> None:
    """Five eighths are written as two tied notes."""
    score = voices(line("C5:w~", "C5:w"), line("r:w", "r:h r:e E4:e r:q"))
    result = reduced("bottom", score)
    assert tokens(result) == "C5~ r C5~ C5 E4 r"
    assert values(result) == "whole, whole, half, eighth, eighth, quarter"


def test_slurs_stay_balanced() -> None:
    """A slur whose end is gone goes as a whole, and the log says so."""

    def slur(role: str) -> Mark:
        return Mark("slur", "slur", role, "1", f'<slur type="{role}" number="1"/>')

    low = line("C3 D3 E3 F3")
    events = low.parts[0].measures[0].voices[0].events
    marked = (
        replace(events[0], marks=(slur("start"),)),
        *events[1:3],
        replace(events[3], marks=(slur("stop"),), lyrics=(Lyric("1", "single", "la", ""),)),
    )
    measure = replace(low.parts[0].measures[0], voices=(Voice("1", marked),))
    low = with_parts(low, [replace(low.parts[0], measures=(measure,))])
    score = voices(low, line("C4:h. F4:q"))
    result = reduced("top", score)
    assert tokens(result) == "C4 F4"
    assert not [m for _, e in _events(result) for m in e.marks]
    assert "1 slur dropped: a note at one end is gone" in log(result)
    assert "syllables dropped with their notes: la" in log(result)
    kept = reduced("bottom", score)
    assert len([m for _, e in _events(kept) for m in e.marks]) == 2


def _events(score: Score) -> list[tuple[int, Event]]:
    from variants.score import events

    return list(events(score.parts[0]))


def test_note_tied_from_nowhere_is_kept() -> None:
    """In a second ending a tie begins nowhere; it is still the line's note."""
    stop = Event(0, 24, NoteValue("half"), (Note(Pitch("E", 0, 4), tie_stop=True),))
    score = line("C4:h r:h", "r:h G4:h")
    second = score.parts[0].measures[1]
    events = (stop, *second.voices[0].events[1:])
    measure = replace(second, voices=(Voice("1", events),))
    score = with_parts(
        score, [replace(score.parts[0], measures=(score.parts[0].measures[0], measure))]
    )
    assert tokens(reduced("top", score)) == "C4 r E4 G4"


def test_cut_inside_a_triplet() -> None:
    """A held note that a triplet interrupts is written with the triplet's own value."""
    triplet = NoteValue("eighth", 0, 3, 2)
    moving = tuple(
        Event(12 + 4 * index, 4, triplet, () if index == 0 else (Note(Pitch("E", 0, 4)),))
        for index in range(3)
    )
    base = voices(line("C5:w~", "C5:w"), line("r:w", "r:w"))
    first, second = base.parts[0].measures
    second = replace(second, voices=(second.voices[0], Voice("2", moving)))
    first = replace(first, attributes=(Attributes(0, metre=Metre()),))
    score = with_parts(base, [replace(base.parts[0], measures=(first, second))])
    result = reduced("bottom", score)
    assert tokens(result) == "C5~ r C5 E4 E4 r"
    assert values(result) == "whole, whole, half (3:2), eighth (3:2), eighth (3:2), half"
    assert sum(e.duration for index, e in _events(result) if index == 1) == 48


def test_nothing_to_reduce() -> None:
    """A melody stays as it is, and the log says why."""
    score = line("E4 G4 A4")
    assert reduced("root", score) == score
    assert log(reduced("root", score)) == "no chord to reduce: nothing is changed"


def test_then_one_string() -> None:
    """What `reduce-chords` leaves is a line that one string can play."""
    result = reduced("root", voices(line("E3+B3:h G3+D4:h"), line("E2:h B2:h")))
    spans = sorted((e.onset, e.end) for _, e in _events(result) if e.notes)
    assert spans == [(0, 24), (24, 48)]


def test_trailing_grace_tied_from_nowhere() -> None:
    """A grace note at the end of a measure whose tie begins nowhere takes no onset with it."""
    after = (
        Event(48, 0, NoteValue("16th"), (Note(Pitch("C", 0, 5)),), grace=()),
        Event(48, 0, NoteValue("16th"), (Note(Pitch("D", 0, 5), tie_stop=True),), grace=()),
    )
    score = line("C4:w", "E4:w")
    first = score.parts[0].measures[0]
    measure = replace(first, voices=(Voice("1", (*first.voices[0].events, *after)),))
    part = replace(score.parts[0], measures=(measure, score.parts[0].measures[1]))
    assert tokens(reduced("top", with_parts(score, [part]))) == "C4 C5 D5 E4"


def test_voices_that_become_one_are_beamed_as_one() -> None:
    """What is left of two voices is beamed as a voice alone is."""
    upper = line("G4:e E4:e F4:e D4:e r:h")
    lower = line("C3:h G3:h")
    one = reduced("top", voices(upper, lower))
    (only,) = one.parts[0].measures[0].voices
    values = [event.beams for event in only.events if event.notes]
    assert values == [("begin",), ("continue",), ("continue",), ("end",)]


@pytest.mark.parametrize(
    ("text", "named"),
    [
        ("reduce-chords:to=middle", "root"),
        ("reduce-chords:to=dyad,other=ninth", "fifth"),
        ("reduce-chords:note=top", "to"),
    ],
)
def test_wrong_values_name_the_right_ones(text: str, named: str) -> None:
    """There is no music that it refuses; a wrong value is told with the right ones."""
    with pytest.raises(UsageError) as caught:
        parse_step(text)
    assert "\n" not in str(caught.value)
    assert named in str(caught.value)
