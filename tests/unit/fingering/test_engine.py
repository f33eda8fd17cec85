"""The engine's answers to small questions, its wishes and its refusals."""

from __future__ import annotations

from dataclasses import replace

import pytest

from variants.errors import UsageError
from variants.fingering import (
    Passage,
    PassageNote,
    Settings,
    UnplayableOnset,
    alternatives,
    explain,
    finger,
    ways,
)
from variants.fingering.passage import OpenStrings
from variants.guitar import instrument_for, neck_fret, parse_tuning
from variants.score import Place
from variants.score.edit import map_heads

# (string, sounding MIDI number): fret 2 of the fifth string and fret 5 of the first one of a banjo
# (gDGBD) behind a capo at 2.
NOTES = ((5, 71), (1, 69))


def line(*midis: int, **more: object) -> Passage:
    """Return quarter notes, four to a measure."""
    notes = tuple(
        PassageNote(onset=4 * i, duration=4, midi=midi, measure=i // 4)
        for i, midi in enumerate(midis)
    )
    starts = tuple(range(0, 4 * len(midis), 16))
    return Passage(notes=notes, ticks_per_quarter=4, measure_starts=starts, **more)  # type: ignore[arg-type]


def chord(*midis: int) -> Passage:
    """Return one chord."""
    notes = tuple(PassageNote(onset=0, duration=4, midi=midi) for midi in midis)
    return Passage(notes=notes, ticks_per_quarter=4)


def test_no_notes_no_answer() -> None:
    """An empty passage has an empty fingering, no alternatives, and no error."""
    assert finger(Passage(notes=())).notes == ()
    assert alternatives(Passage(notes=())) == ()


def test_the_answer_keeps_the_order_of_the_notes() -> None:
    """Notes may come in any order; the answer has theirs."""
    there = line(64, 65, 67)
    back = replace(there, notes=there.notes[::-1])
    assert finger(back).notes == finger(there).notes[::-1]


def test_open_strings_avoided_and_preferred() -> None:
    """Avoided open strings are stopped where there is a way; preferred ones ring."""
    notes = line(64, 62, 64, 59, 55)
    avoided = finger(notes, Settings(open_strings="avoid")).notes
    preferred = finger(notes, Settings(open_strings="prefer")).notes
    assert all(place.fret for place in avoided)
    assert [place.fret for place in preferred].count(0) >= 3


def test_an_open_string_is_used_where_there_is_no_other_way() -> None:
    """E2 has one place; avoiding open strings does not make it unplayable."""
    assert finger(line(40), Settings(open_strings="avoid")).notes[0].fret == 0


def test_position_and_strings_are_wishes() -> None:
    """A wished position and string set are followed where they can be."""
    notes = line(69, 71, 72, 71)
    assert {place.string for place in finger(notes, Settings(strings=(3,))).notes} == {3}
    high = finger(notes, Settings(position=9, open_strings="avoid"))
    assert all(abs(hand.position - 9) <= 1 for hand in high.hands)


def test_slurred_notes_stay_on_one_string() -> None:
    """A legato pair is played on one string."""
    notes = line(64, 65, 67)
    slurred = replace(
        notes,
        notes=(notes.notes[0], *(replace(note, slurred_from=True) for note in notes.notes[1:])),
    )
    assert len({place.string for place in finger(slurred).notes}) == 1


def test_a_tied_note_keeps_its_place() -> None:
    """Both heads of a tied note have one place and finger."""
    first = PassageNote(onset=0, duration=4, midi=67)
    tied = replace(first, onset=4, tied_from=True)
    other = PassageNote(onset=4, duration=4, midi=60, voice="2")
    answer = finger(Passage(notes=(first, tied, other), ticks_per_quarter=4)).notes
    assert answer[0] == answer[1]


def test_a_barre_is_named() -> None:
    """F major in the first position has a barre at fret 1 from string 6 to string 1."""
    hand = finger(chord(41, 48, 53, 57, 60, 65)).hands[0]
    assert hand.barre is not None
    assert (hand.barre.fret, hand.barre.from_string, hand.barre.to_string) == (1, 6, 1)
    assert "barre at fret 1 over strings 6 to 1" in hand.sentence()


def test_a_capo_makes_the_reported_stretch_shorter() -> None:
    """Frets 1 to 3 behind a capo at 5 are frets 6 to 8: 50.1 mm, not 66.9 (650 mm scale)."""
    notes = tuple(PassageNote(onset=0, duration=4, midi=midi) for midi in (48, 52, 55, 60, 64))
    plain = Passage(notes=notes, ticks_per_quarter=4)
    raised = replace(
        plain, notes=tuple(replace(note, midi=note.midi + 5) for note in notes), capo=5
    )
    assert finger(plain).notes == finger(raised).notes
    assert finger(plain).hands[0].stretch_mm == pytest.approx(66.9, abs=0.1)
    assert finger(raised).hands[0].stretch_mm == pytest.approx(50.1, abs=0.1)


def test_every_onset_is_explained_in_one_sentence() -> None:
    """Place, position and numbers for each onset."""
    notes = line(60, 64, 67, 72, 76)
    sentences = explain(notes, finger(notes))
    assert len(sentences) == 5
    assert sentences[4].startswith("measure 2, beat 1: position ")
    assert all("stretch" in text and "cost" in text for text in sentences)


@pytest.mark.parametrize(
    ("passage", "cause"),
    [
        (chord(40, 41), "E2 and F2 both lie on string 6 alone"),
        (line(39), "Eb2 is on no string"),
        (chord(40, 45, 50, 55, 59, 64, 69), "7 notes at once on 6 strings"),
        (chord(41, 80), "too far apart"),
    ],
)
def test_what_cannot_be_played_is_refused(passage: Passage, cause: str) -> None:
    """The refusal names the cause and the way out."""
    with pytest.raises(UnplayableOnset, match=cause) as caught:
        finger(passage)
    assert caught.value.way_out


def test_wishes_that_contradict_each_other_are_refused() -> None:
    """Two notes wished onto one string cannot be held."""
    notes = tuple(replace(note, string=1) for note in chord(64, 67).notes)
    with pytest.raises(UnplayableOnset, match="asked for"):
        finger(Passage(notes=notes, ticks_per_quarter=4))


def test_a_passage_without_strings_is_a_wrong_call() -> None:
    """The error is of the family, with a way out."""
    with pytest.raises(UsageError, match="strings"):
        Passage(notes=(), tuning_midi=())


def test_ways_stand_side_by_side() -> None:
    """C4 and F4 can be fretted at 3 and 2, fret 5 and 6, or with open strings; ranked by cost."""
    found = ways(line(60, 64, 65, 64))
    costs = [way.cost for way in found]
    assert costs == sorted(costs)
    assert any(way.open_strings for way in found)
    assert any(not way.open_strings for way in found)
    assert len({way.fingered.notes for way in found}) == len(found)
    assert len({(way.lowest_position, way.strings) for way in found}) >= 5


@pytest.mark.parametrize("opens", ["allow", "usual", "avoid"])
@pytest.mark.parametrize("midis", [(45, 52, 48, 55, 50, 57), (60, 62, 64, 65, 67), (57, 64, 69)])
def test_the_best_way_is_the_answer(midis: tuple[int, ...], opens: OpenStrings) -> None:
    """All ways are weighed among all: what a search under narrower limits says does not count."""
    wishes = Settings(open_strings=opens, repeat_alike=False)
    found = ways(line(*midis), wishes)
    best = finger(line(*midis), wishes)
    assert found[0].fingered.notes == best.notes
    assert found[0].cost == pytest.approx(best.cost, abs=0.01)


def test_one_finger_or_two_across_the_strings() -> None:
    """C4 and E4 at fret 5: the small barre and the two fingers are both among the ways."""
    found = ways(chord(60, 64))
    shapes = [
        tuple((place.string, place.fret, place.finger) for place in way.fingered.notes)
        for way in found
    ]
    at_five = [shape for shape in shapes if [note[:2] for note in shape] == [(3, 5), (2, 5)]]
    assert any(shape[0][2] == shape[1][2] for shape in at_five)
    assert any(shape[0][2] != shape[1][2] for shape in at_five)


def test_a_short_string_behind_a_capo_starts_where_the_neck_says() -> None:
    """A banjo's fifth string behind a capo at 2 is shortened alike: its fret 2 is neck fret 9."""
    banjo = instrument_for(parse_tuning("banjo-5"), capo=2)
    passage = Passage(
        notes=tuple(PassageNote(onset=0, duration=4, midi=midi, string=s) for s, midi in NOTES),
        ticks_per_quarter=4,
        tuning_midi=tuple(midi - banjo.capo for midi in banjo.open_midi),
        capo=banjo.capo,
        frets=banjo.frets,
        first_frets=banjo.first_frets,
        scale_length_mm=banjo.scale_length_mm,
    )
    fingered = finger(passage)
    on_neck = [neck_fret(banjo, Place(note.string, note.fret)) for note in fingered.notes]
    assert [(note.string, note.fret) for note in fingered.notes] == [(5, 2), (1, 5)]
    assert on_neck == [9, 7]
    apart = banjo.scale_length_mm * (2 ** (-7 / 12) - 2 ** (-9 / 12))
    assert fingered.hands[0].stretch_mm == pytest.approx(apart, abs=0.1)


def test_a_shape_with_other_fingers_is_told() -> None:
    """Two fingerings of one shape that the file itself has are named, with measure and beat."""
    from variants import read, vary

    tune = read(
        "X:1\nM:4/4\nL:1/4\nK:C clef=treble-8\n[G,D] [G,D] [G,D] [A,E]| [A,E] [G,D] [G,D] [A,E]|]\n"
    )
    made = vary(tune)
    given = {(1, 0, 1, 0): "2", (1, 0, 1, 1): "4"}
    part = map_heads(
        made.score.parts[0], lambda key, note: replace(note, finger=given.get(key, note.finger))
    )
    told = [
        change
        for change in vary(replace(made.score, parts=(part,), changes=())).changes
        if "for the same shape" in change.message
    ]
    assert [(change.measure, change.beat) for change in told] == [("2", "2")]
    assert "fingers 2-4 here and 1-3 elsewhere" in told[0].message
