"""How marks are asked for, put on and taken off."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

from tests.unit.marks.figures import figure
from tests.xsd import validate
from variants.errors import UsageError
from variants.finish import finish
from variants.marks import MARKS, Marking, apply_marks, parse_marks, remove_marks
from variants.marks.own import may_own, own_signs, with_own
from variants.musicxml import read_raw, to_bytes
from variants.score import Extra, Lyric, Note, Score, map_events, map_notes
from variants.steps import parse_step
from variants.variant import Wishes, make_variant

ALL = ",".join(MARKS)


def guitar(rhythm: str = "q:C3@5.3 e:E3@4.2 e:G3@3.0 h:B3@3.4+E4@2.5") -> Score:
    """Return a figure that is laid out for guitar."""
    score = figure("4/4", rhythm)
    return replace(score, parts=(replace(score.parts[0], layout="both"),))


def test_every_mark_is_described() -> None:
    """Each mark and choice has a name and a line of help; words are not shared in a mark."""
    for name, kind in MARKS.items():
        assert kind.name == name
        assert kind.help
        assert "\n" not in kind.help
        words = [word for choice in kind.choices for word in choice.words]
        assert len(words) == len(set(words))
        assert all(choice.help for choice in kind.choices)


def test_parse() -> None:
    """Marks come in the order of the registry, however they were written."""
    assert parse_marks("names, counting=takadimi+no-rests") == (
        Marking("counting", ("takadimi", "no-rests")),
        Marking("names"),
    )
    assert parse_marks(["names", "counting"]) == (Marking("counting"), Marking("names"))
    assert parse_marks("none") == parse_marks("") == ()


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("countin", "there is no mark 'countin'; did you mean counting?"),
        ("zzz", f"there is no mark 'zzz'; use {', '.join(MARKS)}, none"),
        ("counting=takadim", "counting has no choice 'takadim'; did you mean takadimi?"),
        ("counting=numbers+te-ta", "counting has both numbers and te-ta; say one of them"),
        ("names,names=top", "the mark names is named twice; name it once"),
        ("none,names", "none stands beside other marks; say none alone or leave it"),
        ("plucking=fast", "plucking has no choice 'fast'; it is written without any"),
    ],
)  # fmt: skip
def test_wrong_calls(text: str, message: str) -> None:
    """A wrong call is answered in one line, with the way out."""
    with pytest.raises(UsageError) as caught:
        parse_marks(text)
    assert str(caught.value) == message


@pytest.mark.parametrize("name", MARKS)
def test_each_mark_leaves_something_and_comes_off(name: str) -> None:
    """A mark is seen in the score, applying it again changes nothing, and off it is gone."""
    done = finish(guitar(), marks="none")
    marked = finish(guitar(), marks="fingering" if name == "positions" else name).score
    if name == "chords":
        return
    assert marked != done.score
    again = apply_marks(marked, done.hands, "fingering" if name == "positions" else name)
    assert again == marked
    assert remove_marks(marked) == done.score


def test_all_marks_through_a_file() -> None:
    """Written, read and taken off, all marks leave the score as it was without them."""
    bare = finish(guitar(), marks="none").score
    marked = finish(guitar(), marks=ALL).score
    data = to_bytes(marked)
    assert not validate(data)
    back = read_raw(data)
    assert remove_marks(back).parts == read_raw(to_bytes(bare)).parts
    # Strings and strokes stand on the notation, so nothing of them is lost on the way.
    assert [n.marks for e in back.parts[0].measures[0].voices[0].events for n in e.notes] == [
        n.marks for e in marked.parts[0].measures[0].voices[0].events for n in e.notes
    ]


def test_marks_are_replaced() -> None:
    """Asking for another system of syllables gives that one only."""
    first = apply_marks(guitar(), {}, "counting=takadimi")
    assert apply_marks(first, {}, "counting") == apply_marks(guitar(), {}, "counting")


def test_the_source_s_fingers_and_words_stay() -> None:
    """Taking marks off leaves what the source had of its own."""
    part = guitar().parts[0]
    mine = Lyric("1", "single", "la", "<syllabic>single</syllabic><text>la</text>")

    def own(note: Note) -> Note:
        return replace(note, finger="2" if note.place and note.place.fret == 2 else "")

    part = map_notes(part, own)
    part = map_events(part, lambda event: replace(event, lyrics=(mine,)))
    score = replace(guitar(), parts=(part,))
    marked = finish(score, marks=ALL).score
    assert sum(bool(n.finger) for e in marked.parts[0].measures[0].voices[0].events
               for n in e.notes) == 5  # fmt: skip
    bare = remove_marks(marked)
    fingers = [n.finger for e in bare.parts[0].measures[0].voices[0].events for n in e.notes]
    assert fingers == ["", "2", "", "", ""]
    assert remove_marks(marked).parts == score.parts
    numbers = [one.number for one in marked.parts[0].measures[0].voices[0].events[0].lyrics]
    assert numbers == ["1", "2", "3"]


def test_one_mark_alone_can_be_taken_off() -> None:
    """The others stay."""
    both = apply_marks(guitar(), {}, "counting,names")
    assert remove_marks(both, ["names"]) == apply_marks(guitar(), {}, "counting")
    with pytest.raises(UsageError, match="did you mean names"):
        remove_marks(both, ["name"])


def test_open_strings_need_no_nought() -> None:
    """``no-open`` leaves out the 0 of open strings and keeps the other fingers."""
    notes = [
        note
        for event in finish(guitar(), marks="fingering=no-open")
        .score.parts[0].measures[0].voices[0].events
        for note in event.notes
    ]  # fmt: skip
    assert [bool(n.finger) for n in notes] == [bool(n.place and n.place.fret) for n in notes]


STROKES = "q:C3@5.3+E3@4.2+G3@3.0 q:C3@5.3+E3@4.2+G3@3.0 q:E3@4.2+G3@3.0 q:C3@5.3"
CHANGES = "| q:G2@6.3+D3@4.0 q:C3@5.3+E3@4.2+G3@3.0 q:D3@5.5 q:C3@5.3+E3@4.2+G3@3.0"


def fingers_of(score: Score) -> list[str]:
    """Return the fingers of each event, ``-`` where it shows none."""
    return [
        "".join(note.finger for note in event.notes) or "-"
        for measure in score.parts[0].measures
        for event in measure.voices[0].events
    ]


def test_fingers_stand_where_the_grip_changes() -> None:
    """A chord struck again, whole or in part, needs no fingers; after another grip it does."""
    each = fingers_of(finish(guitar(STROKES + CHANGES), marks="fingering=each").score)
    assert "-" not in each
    shown = fingers_of(finish(guitar(STROKES + CHANGES)).score)
    assert [one != "-" for one in shown] == [True, False, False, True, True, True, True, True]
    assert all(short in (full, "-") for short, full in zip(shown, each, strict=True))


def test_fingers_of_the_source_stand_at_each_stroke() -> None:
    """What the source prints is not thinned out."""
    score = map_notes_of(guitar(STROKES), lambda note: replace(note, finger="2"))
    kept = apply_marks(score, {}, "fingering")
    assert fingers_of(kept) == ["222", "222", "22", "2"]


def map_notes_of(score: Score, change: Callable[[Note], Note]) -> Score:
    """Return the score with every note of its part changed."""
    return replace(score, parts=(map_notes(score.parts[0], change),))


def test_a_level_of_the_source_is_kept() -> None:
    """Who an editorial sign is from can be said twice on one note."""
    theirs = Extra("level", '<level type="single">second edition</level>')
    note = Note(None, extras=(theirs,))
    marked = with_own(note, ["strokes"])
    assert marked.extras[0].xml == '<level type="single">second edition; neckwise: strokes</level>'
    assert own_signs(marked) == {"strokes"}
    assert with_own(marked, []) == note
    assert not may_own(Note(None, extras=(Extra("level", "<level/>"),)))


def test_parts_without_an_instrument_are_counted_but_not_fingered() -> None:
    """Counting and names are for every part, strokes for fretted ones."""
    score = figure("1/4", "q", instrument=None)
    assert apply_marks(score, {}, "strokes,plucking,strings,positions") == score
    assert apply_marks(score, {}, "counting") != score


@pytest.mark.parametrize(
    ("marks", "words"),
    [("chords", "no chord symbols"), ("plucking", "no note has a place"), ("counting", "")],
)
def test_a_mark_that_finds_nothing_says_so(marks: str, words: str) -> None:
    """What was asked for and could not be written is in the change log, once."""
    score = figure("1/4", "q")
    once = apply_marks(score, {}, marks)
    assert [words in line.message and line.step == marks for line in once.changes] == (
        [True] if words else []
    )
    assert apply_marks(once, {}, marks).changes == once.changes


def test_steps_do_not_see_marks() -> None:
    """A marked file through a step comes out as the unmarked one does, its log included."""
    plain = finish(guitar("q:E3 e:G3 e:A3 q:B3 q:C4"), marks="none").score
    marked = finish(plain, marks="counting,names,strokes").score
    made = [
        make_variant(score, [parse_step("simplify-rhythm:grid=quarter")], Wishes(marks=())).score
        for score in (plain, marked)
    ]
    assert made[0] == made[1]
    assert [str(line) for line in made[0].changes] == [str(line) for line in made[1].changes]


@pytest.mark.parametrize(("layout", "strings"), [("notation", 5), ("both", 10), ("tab", 5)])
def test_signs_stand_on_one_staff(layout: str, strings: int) -> None:
    """Strokes and circled strings are on the notation, on tab only where that is alone.

    Tab has the string of each of the five notes; the notation has the circled ones.
    """
    score = guitar()
    part = replace(score.parts[0], layout=layout)
    marked = apply_marks(replace(score, parts=(part,)), {}, "strokes,strings=all")
    text = to_bytes(marked).decode()
    assert text.count("-bow/>") == 4
    assert text.count("<string>") == strings
    assert text.count("<level>") == 5
