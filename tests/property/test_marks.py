"""Marks on any score: they change no music, come off without a trace, and go through a file."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.strategies import STANDARD, line, scores
from variants.contract import Promise, check
from variants.errors import Refusal
from variants.finish import Finished, finish
from variants.marks import MARKS, Marking, apply_marks, count_part, parse_marks, remove_marks
from variants.marks.lines import COUNTING, LINES
from variants.marks.moments import strikes
from variants.musicxml import read_raw, to_bytes
from variants.score import Note, Score, map_notes

UNTOUCHED = frozenset({Promise.SOUNDING_PITCHES, Promise.ONSETS, Promise.MEASURE_LENGTHS})


@st.composite
def markings(draw: st.DrawFn) -> tuple[Marking, ...]:
    """Draw marks with choices of each."""
    found = []
    for kind in MARKS.values():
        if draw(st.booleans()):
            words = tuple(
                draw(st.sampled_from(choice.words))
                for choice in kind.choices
                if draw(st.booleans())
            )
            found.append(Marking(kind.name, words))
    return tuple(found)


def finished(score: Score, marks: tuple[Marking, ...] = ()) -> Finished:
    """Return a score with places where a hand can play it, else as it is."""
    try:
        return finish(score, marks=marks)
    except Refusal:
        return Finished(apply_marks(score, {}, marks))


@given(scores(), markings())
@settings(max_examples=60)
def test_marks_change_no_music(score: Score, marks: tuple[Marking, ...]) -> None:
    """Pitches, onsets, lengths and places are those of the unmarked score."""
    bare = finished(score)
    marked = apply_marks(bare.score, bare.hands, marks)
    check(UNTOUCHED, bare.score, marked, step="marks")
    places = [
        [note.place for m in one.parts for x in m.measures for v in x.voices for e in v.events
         for note in e.notes]
        for one in (bare.score, marked)
    ]  # fmt: skip
    assert places[0] == places[1]


@given(scores(), markings())
@settings(max_examples=60)
def test_marks_come_off_without_a_trace(score: Score, marks: tuple[Marking, ...]) -> None:
    """Taken off, a score is what it was; put on twice, they are there once."""
    done = finished(score, marks)
    assert remove_marks(done.score) == finished(score).score
    assert apply_marks(done.score, done.hands, marks) == done.score
    assert remove_marks(remove_marks(done.score)) == remove_marks(done.score)


@given(scores(), markings(), st.sampled_from(["", "notation", "tab", "both"]))
@settings(max_examples=80)
def test_marks_come_off_a_written_file(
    score: Score, marks: tuple[Marking, ...], layout: str
) -> None:
    """Written with marks, read and taken off: as if it had been written without."""
    laid = replace(
        score,
        parts=tuple(replace(p, layout=layout if p.instrument else "") for p in score.parts),
    )
    marked = read_raw(to_bytes(finished(laid, marks).score))
    plain = read_raw(to_bytes(finished(laid).score))
    assert remove_marks(marked) == plain


@given(markings())
def test_marks_are_written_as_they_are_read(marks: tuple[Marking, ...]) -> None:
    """The text of marks names the same marks."""
    assert parse_marks(",".join(map(str, marks))) == marks


@given(scores(parts=1, unpitched=False), st.sampled_from(["numbers", "te-ta", "takadimi"]))
@settings(max_examples=60)
def test_every_onset_is_counted_once(score: Score, system: str) -> None:
    """Each moment at which a note is struck has one syllable, and no moment has two."""
    part = score.parts[0]
    for measure, counted in zip(
        part.measures, count_part(part, score.ticks, system=system), strict=True
    ):
        struck = {
            event.onset
            for voice in measure.voices
            for event in voice.events
            if event.grace is None and not event.is_cue and event.notes and strikes(event)
        }
        ticks = [tick for tick, _ in counted]
        assert len(ticks) == len(set(ticks))
        assert struck <= set(ticks)
        plain = {tick for tick, text in counted if text[0] not in "[("}
        assert plain == struck


@given(scores())
@settings(max_examples=40)
def test_lines_of_ours_have_verses_of_their_own(score: Score) -> None:
    """No lyric of ours shares a verse with another of the same event."""
    marked = apply_marks(score, {}, "counting,names,chords")
    for part in marked.parts:
        for measure in part.measures:
            for voice in measure.voices:
                for event in voice.events:
                    numbers = [lyric.number for lyric in event.lyrics]
                    ours = [one for one in event.lyrics if one.name in LINES]
                    assert len(numbers) == len(set(numbers))
                    assert len([one for one in ours if one.name == COUNTING]) <= 1


@given(scores(parts=1, voices=1, microtones=False, unpitched=False))
@settings(max_examples=40)
def test_no_finger_plucks_two_strings(score: Score) -> None:
    """Of a chord only the thumb takes more than one string, and strings stay in finger order."""
    marked = finished(score, parse_marks("plucking")).score
    order = "pima"

    for measure in marked.parts[0].measures:
        for event in measure.voices[0].events if measure.voices else ():
            plucked = sorted(
                (-note.place.string, order.index(note.pluck))
                for note in event.notes
                if note.place is not None and note.pluck
            )
            fingers = [finger for _, finger in plucked]
            assert fingers == sorted(fingers)
            above = [finger for finger in fingers if finger]
            assert len(above) == len(set(above))


def in_time(score: Score) -> list[Note]:
    """Return the notes of the first part in order of time, grace notes before their main notes."""
    return [
        note
        for measure in score.parts[0].measures
        for event in sorted(
            (event for voice in measure.voices for event in voice.events),
            key=lambda event: (event.onset, event.grace is None),
        )
        for note in event.notes
    ]


CHORDS = ("C3+E3+G3", "C3+E3+G3+C4", "E3+G3", "G2+B2+D3", "C3", "A3+D4")
strummed = st.lists(st.sampled_from(CHORDS), min_size=4, max_size=4).map(" ".join)


@given(
    st.lists(strummed, min_size=1, max_size=3).map(lambda texts: line(*texts))
    | scores(parts=1, microtones=False, unpitched=False, in_range=True)
)
@settings(max_examples=40)
def test_a_finger_that_is_left_out_was_shown_before(score: Score) -> None:
    """Where a chord shows no fingers, each of its strings was last shown with just that finger."""
    each = in_time(finished(score, parse_marks("fingering=each")).score)
    some = in_time(finished(score, parse_marks("fingering")).score)
    shown: dict[int, tuple[int, str]] = {}
    for full, note in zip(each, some, strict=True):
        assert note.finger in ("", full.finger)
        if full.finger and full.place is not None:
            now = (full.place.fret, full.finger)
            assert note.finger or shown[full.place.string] == now
            shown[full.place.string] = now


def test_marks_reach_written_fingers() -> None:
    """A file that was fingered by us, read again, gives its fingers up."""
    score = line("E3 G3 C4 E4", instrument=STANDARD)
    marked = read_raw(to_bytes(finish(score).score, places=True))
    assert any(n.finger for e in marked.parts[0].measures[0].voices[0].events for n in e.notes)
    bare = remove_marks(marked)
    assert map_notes(bare.parts[0], lambda note: replace(note, finger="")) == bare.parts[0]
