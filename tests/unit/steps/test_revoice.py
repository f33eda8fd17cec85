"""Chords in other shapes, on small scores."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from tests.strategies import line, open_strings, tokens
from variants.errors import Refusal, UsageError
from variants.music import Pitch
from variants.pipeline import run
from variants.score import (
    Harmony,
    Instrument,
    Mark,
    Score,
    Voice,
    map_notes,
    notes,
    with_notes,
    with_parts,
)
from variants.steps import parse_step
from variants.steps.revoice import Revoice


def revoiced(score: Score, text: str = "revoice") -> Score:
    """Return the score after the step, its contract proven; twice is once."""
    done = run(score, [parse_step(text)]).score
    assert run(done, [parse_step(text)]).score.parts == done.parts
    return done


def places(score: Score) -> list[str]:
    """Return every note's place as ``string:fret``."""
    return [f"{n.place.string}:{n.place.fret}" if n.place else "-" for n in notes(score.parts[0])]


def log(score: Score) -> str:
    """Return the change log as text."""
    return " | ".join(str(change) for change in score.changes)


@pytest.mark.parametrize(
    ("text", "before", "after"),
    [
        ("revoice:shape=fifth", "E2+B2+E3 A2+E3", "E2+B2 A2+E3"),
        ("revoice:shape=octave", "E2+B2 G3+D4", "E2+B2+E3 G3+D4+G4"),
        ("revoice:shape=inverted", "A2+E3 E2+B2", "E2+A2 B2+E3"),
        ("revoice:shape=inverted", "C3+E3+G3 A2+E3+A3", "C3+E3+G3 E3+A3"),
        ("revoice:shape=root-position", "E3+G3+C4 G2+C3+E3", "C3+E3+G3 C3+E3+G3"),
        ("revoice:shape=1st-inversion", "C3+E3+G3 A2+C3+E3", "E2+C3+G3 C3+E3+A3"),
        ("revoice:shape=2nd-inversion", "C3+E3+G3", "G2+C3+E3"),
        # a seventh chord keeps all four of its notes
        ("revoice:shape=1st-inversion", "G2+B2+D3+F3", "B2+D3+F3+G3"),
        # no third: not a chord to invert; no fifth: neither
        ("revoice:shape=1st-inversion", "C3+F3+G3 C3+E3", "C3+F3+G3 C3+E3"),
        # the full chords of the first lessons, on three strings; power chords as 1-5-8
        ("revoice", "C3+E3+G3+C4+E4 E2+B2+E3+G3+B3+E4", "G3+C4+E4 G3+B3+E4"),
        ("revoice", "A2+E3 G3+B3+D4", "A2+E3+A3 G3+B3+D4"),
        # of a seventh chord the fifth goes
        ("revoice", "G2+B2+D3+F3", "G2+B2+F3"),
        ("revoice:shape=two-note", "C4+E4+G4 E2+B2+E3", "C4+E4 E2+B2"),
    ],
)
def test_shapes(text: str, before: str, after: str) -> None:
    """Every shape, nearest to where the chord was. Computed by hand."""
    assert tokens(revoiced(line(before), text)) == after


@pytest.mark.parametrize(
    ("before", "text", "published"),
    [
        ("G2+D3", "octave,strings=6+5+4", "6:3 5:5 4:5"),
        ("D3+A3", "octave,strings=5+4+3", "5:5 4:7 3:7"),
        ("G3+D4", "octave,strings=4+3+2", "4:5 3:7 2:8"),
        ("D4+A4", "octave,strings=3+2+1", "3:7 2:10 1:10"),
        ("G2+D3", "inverted,strings=5+4", "5:5 4:5"),
        ("G2+D3+G3", "fifth,strings=6+5", "6:3 5:5"),
    ],
)
def test_published_power_chords(before: str, text: str, published: str) -> None:
    """Power chords doubled and turned on named strings (liquisearch.com, "power chord")."""
    assert places(revoiced(line(before), f"revoice:shape={text}")) == published.split()


@pytest.mark.parametrize(
    ("strings", "where"),
    [
        ("4+3+2", "4:2 3:0 2:1"),
        ("3+2+1", "3:0 2:1 1:0"),
        ("5+4+3", "5:3 4:2 3:0"),
    ],
)
def test_named_strings(strings: str, where: str) -> None:
    """C major on three neighbouring strings: triads of the first position."""
    done = revoiced(line("C3+E3+G3+C4+E4"), f"revoice:strings={strings}")
    assert places(done) == where.split()


def test_places_are_left_to_the_fingering() -> None:
    """Without named strings no place is set, and those that were are cleared."""
    from tests.strategies import placed

    music = line("C3+E3+G3+C4+E4 E3")
    done = revoiced(with_parts(music, [placed(music.parts[0])]))
    assert places(done)[:3] == ["-", "-", "-"]
    assert places(done)[3] != "-"


def test_ties_go_with_the_chord() -> None:
    """A chord that is held is the same chord to its end."""
    done = revoiced(line("C3+E3+G3:h~ C3+E3+G3:h"), "revoice:shape=1st-inversion")
    assert tokens(done) == "E2+C3+G3~ E2+C3+G3"


def test_half_tied_chords_stay() -> None:
    """A chord of which one note is held on is left alone, and the log says so."""
    music = line("C3+E3+G3:h C3+E3+G3:h")
    measure = music.parts[0].measures[0]
    first, second = measure.voices[0].events
    low, *rest = first.notes
    tied = with_notes(first, (replace(low, tie_start=True), *rest))
    low, *rest = second.notes
    held = with_notes(second, (replace(low, tie_stop=True), *rest))
    changed = replace(measure, voices=(Voice("1", (tied, held)),))
    score = with_parts(music, [replace(music.parts[0], measures=(changed,))])
    done = revoiced(score, "revoice:shape=1st-inversion")
    assert done.parts == score.parts
    assert "2 chords with ties, slides or bends of single notes left alone" in log(done)


def test_a_slide_keeps_its_chord() -> None:
    """A chord from which a note slides is left alone."""
    music = line("C3+E3+G3")
    slide = Mark("slide", "slide", "start", "1", '<slide type="start"/>')
    part = map_notes(music.parts[0], lambda note: replace(note, marks=(slide,)))
    score = with_parts(music, [part])
    assert Revoice(shape="1st-inversion")(score).parts == score.parts


def test_the_symbol_names_the_root() -> None:
    """Under a chord symbol its root counts: A C E G is C6 under a C."""
    music = line("C3+E3+G3+A3")
    measure = replace(music.parts[0].measures[0], harmonies=(Harmony(0, ("C", 0), "major-sixth"),))
    score = with_parts(music, [replace(music.parts[0], measures=(measure,))])
    assert tokens(revoiced(score, "revoice:shape=two-note")) == "C3+E3"
    assert tokens(revoiced(music, "revoice:shape=two-note")) == "C3+A3"


def test_the_log() -> None:
    """Each chord is told from what to what, and a great number is counted."""
    done = revoiced(line("C3+E3+G3 C3+E3+G3 E4 E4"), "revoice:shape=1st-inversion")
    assert [str(change) for change in done.changes] == [
        "2 of 2 chords changed: the third is the lowest note",
        "measure 1, beat 1: C3 E3 G3 became E2 C3 G3",
        "measure 1, beat 2: C3 E3 G3 became E2 C3 G3",
    ]
    many = revoiced(
        line(*["C3+E3+G3 C3+E3+G3 C3+E3+G3 C3+E3+G3"] * 5), "revoice:shape=1st-inversion"
    )
    assert log(many).endswith(
        "4 more chords changed in the same way | 4 notes moved down an octave in measure 5"
    )
    assert "there is no power chord" in log(revoiced(line("C3+E3"), "revoice:shape=octave"))


def test_refusals() -> None:
    """A chord that has no grip in the shape is refused with its place and what would do."""
    with pytest.raises(Refusal, match="measure 1, beat 1: no hand can hold C3 E3 G3 as three-note"):
        revoiced(line("C3+E3+G3"), "revoice:strings=2+1")
    with pytest.raises(Refusal, match=r"use strings=\d\+\d\+\d, or leave strings out"):
        revoiced(line("C3+E3+G3"), "revoice:shape=1st-inversion,strings=6+1")
    short = Instrument(open_strings("E4 B4"), frets=4)
    with pytest.raises(Refusal, match="use another shape"):
        revoiced(line("E4+G4+B4", instrument=short), "revoice:shape=root-position")
    with pytest.raises(Refusal, match="no string 7; use strings 1 to 6"):
        revoiced(line("C3+E3+G3"), "revoice:strings=7+6")
    with pytest.raises(UsageError, match="1st-inversion"):
        Revoice(shape="3rd-inversion")


def test_other_voices_are_heard() -> None:
    """A chord over a bass that is held keeps off its note, and both can be held together."""
    low, high = line("D3:w"), line("A3+D4:w")
    first = low.parts[0].measures[0]
    upper = replace(high.parts[0].measures[0].voices[0], id="2")
    measure = replace(first, voices=(first.voices[0], upper))
    score = with_parts(low, [replace(low.parts[0], measures=(measure,))])
    assert tokens(revoiced(score)) == "D3 D4+A4+D5"
    assert tokens(revoiced(high)) == "D3+A3+D4"


def test_microtones_stay() -> None:
    """A chord with a microtone is left alone."""
    music = line("C3+E3+G3")
    bent = map_notes(
        music.parts[0],
        lambda note: (
            replace(note, pitch=Pitch("E", Fraction(1, 2), 3)) if str(note.pitch) == "E3" else note
        ),
    )
    score = with_parts(music, [bent])
    assert Revoice(shape="1st-inversion")(score).parts == score.parts
