"""What each promise forbids, and the faults that no step may make."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

from tests.strategies import line
from variants.contract import Promise, check, composed, implied, strongest
from variants.errors import ContractBroken
from variants.music import Interval
from variants.score import Event, Harmony, Place, Score, map_events, with_parts
from variants.score.survey import survey

SOURCE = line("E2+B2 G2+D3 A2+E3:h", "C4 E4+G4+C5 r B3")


def changed(score: Score, change: Callable[[Event], Event]) -> Score:
    """Return the score with every event of its first part changed."""
    return with_parts(score, [map_events(score.parts[0], change), *score.parts[1:]])


BROKEN = [
    (
        Promise.SOUNDING_PITCHES,
        line("E2+B2 G2+D3 A2+E4:h", "C4 E4+G4+C5 r B3"),
        "measure 1, beat 3",
    ),
    (Promise.PITCH_CLASSES, line("E2+B2 G2+D3 A2:h", "C4 E4+G4+C5 r B3"), "measure 1, beat 3"),
    (Promise.PITCH_CLASS_SUBSET, line("E2 G2+D3+F3 A2:h", "C4 E4 r B3"), "measure 1, beat 2"),
    (Promise.TOP_LINE, line("B2 D3 E3:h", "C4 G4 r B3"), "measure 2, beat 2"),
    (Promise.ROOTS, line("E2 D3 A2:h", "C4 C5 r B3"), "measure 1, beat 2"),
    (Promise.ONSETS, line("E2+B2 G2+D3 A2+E3:h", "C4 E4+G4+C5 r r"), "measure 2, beat 4"),
    (Promise.ONSETS, line("E2+B2 G2+D3 A2+E3:h", "C4 E4+G4+C5 B3 B3"), "measure 2, beat 3"),
    (Promise.ONSET_SUBSET, line("E2+B2 G2+D3 A2 E3", "C4 E4 r r"), "measure 1, beat 4"),
    (Promise.DURATIONS, line("E2+B2 G2+D3 A2+E3 r", "C4 E4+G4+C5 r B3"), "measure 1, beat 3"),
    (Promise.SOURCE_NOTES, line("E2+B2 G2 A2+E3:h", "C4 E4+G4+C5 r B3"), "measure 1, beat 2"),
    (Promise.SOURCE_NOTES, line("E2+B2 G2+D3 A2+E3 r", "C4 E4+G4+C5 r B3"), "measure 1, beat 3"),
    (Promise.MEASURE_LENGTHS, line("E2 G2 A2:h", "C4 E4 r"), "measure 2, beat 1"),
    (Promise.PITCH_CLASS_ORDER, line("E2+B2 G2+D3 A2+E3:h", "C4 C5 r B3"), "measure 2, beat 2"),
    (Promise.PITCH_CLASS_ORDER, line("E2+B2 G2+D3 A2+E3:h", "C4 E4+G4+C5 r r"), "the end"),
    (Promise.PITCH_CLASS_SUBSEQUENCE, line("G2+D3 E2+B2 A2:h", "r:w"), "measure 1, beat 2"),
]


@pytest.mark.parametrize(("promise", "result", "place"), BROKEN)
def test_broken_promise_names_the_place(promise: Promise, result: Score, place: str) -> None:
    """The first violation is named with its measure and beat, and the step with its name."""
    with pytest.raises(ContractBroken, match=f"^{place}: some-step breaks its contract"):
        check({promise}, SOURCE, result, step="some-step")


KEPT = [
    (Promise.DURATIONS, line("E2 D3+F3 A2:h", "C4 r r B3")),
    (Promise.SOURCE_NOTES, line("E2+B2 G2+D3+B3 A2+E3:h", "C4 E4+G4+C5 G3 B3")),
    (Promise.SOUNDING_PITCHES, line("E2+B2 G2+D3 A2+E3", "C4 r")),
    (Promise.PITCH_CLASSES, line("B2+E3 D3+G3 E3+A3", "C4")),
    (Promise.PITCH_CLASS_SUBSET, line("E2 D3 r:h", "r G4")),
    (Promise.TOP_LINE, line("B2 D3 E3:h", "C4 C5 r B3")),
    (Promise.ROOTS, line("E2 G2 A2:h", "C4 C5 r B3")),
    (Promise.ONSET_SUBSET, line("E2 r A2:h", "r:w")),
    (Promise.PITCH_CLASS_ORDER, line("E2+B2:e D2+G3:e A2+E3:h C4", "C4+E4+G4:h B3:h")),
    (Promise.PITCH_CLASS_SUBSEQUENCE, line("G2+D3 C4 B3 r")),
]


@pytest.mark.parametrize(("promise", "result"), KEPT)
def test_kept_promise_passes(promise: Promise, result: Score) -> None:
    """Each promise forbids no more than it says."""
    check({promise}, SOURCE, result, step="some-step")


def test_shifted_classes_need_the_reported_interval() -> None:
    """The shift is the one that the step reports, and no other."""
    moved = line("G2+D3 Bb2+F3 C3+G3:h", "Eb4 G4+Bb4+Eb5 r D4")
    check({Promise.SHIFTED_PITCH_CLASSES}, SOURCE, moved, shift=Interval.parse("m3"), step="s")
    with pytest.raises(ContractBroken, match=r"measure 1, beat 1.*not 4 semitones away"):
        check({Promise.SHIFTED_PITCH_CLASSES}, SOURCE, moved, shift=Interval.parse("M3"), step="s")


def test_chord_symbol_names_the_root() -> None:
    """The root is that of the symbol in force where it is among the notes."""
    source = line("C4+E4+A4:w")
    measure = replace(source.parts[0].measures[0], harmonies=(Harmony(0, ("A", 0), "minor"),))
    named = with_parts(source, [replace(source.parts[0], measures=(measure,))])
    check({Promise.ROOTS}, named, line("A4:w"), step="s")
    with pytest.raises(ContractBroken, match="the root A is gone"):
        check({Promise.ROOTS}, named, line("C4:w"), step="s")


def with_tie(event: Event) -> Event:
    """Return the event with all its notes tied to nothing."""
    return replace(event, notes=tuple(replace(note, tie_start=True) for note in event.notes))


def at_wrong_place(event: Event) -> Event:
    """Return the event with its notes at a place that sounds something else."""
    return replace(event, notes=tuple(replace(note, place=Place(1, 1)) for note in event.notes))


def too_long(event: Event) -> Event:
    """Return the event twice as long."""
    return replace(event, duration=event.duration * 2)


FAULTS = [
    (with_tie, "ends nowhere"),
    (at_wrong_place, "does not sound"),
    (too_long, "overlaps itself or runs past"),
]


@pytest.mark.parametrize(("fault", "cause"), FAULTS)
def test_faults_that_no_step_may_make(fault: Callable[[Event], Event], cause: str) -> None:
    """Loose ties, wrong places and overfull measures are seen without any promise."""
    with pytest.raises(ContractBroken, match=f"measure 1, beat .*{cause}"):
        check((), SOURCE, changed(SOURCE, fault), step="s")


@pytest.mark.parametrize(("fault", "cause"), FAULTS)
def test_faults_of_the_source_are_not_the_step_s(
    fault: Callable[[Event], Event], cause: str
) -> None:
    """What was wrong before may stay wrong."""
    wrong = changed(SOURCE, fault)
    check(Promise, wrong, wrong, step="s")


def test_two_notes_on_one_string() -> None:
    """Two notes of a chord, or one struck while another sounds, cannot share a string."""
    source = line("E2+G2:w")

    def on_string(event: Event) -> Event:
        places = (Place(6, 0), Place(6, 3))
        notes = (replace(n, place=p) for n, p in zip(event.notes, places, strict=True))
        return replace(event, notes=tuple(notes))

    with pytest.raises(ContractBroken, match="two notes on string 6"):
        check((), source, changed(source, on_string), step="s")


def test_tie_over_the_barline_is_whole() -> None:
    """A tie has its stop where its start ends, at the same height, in the next measure too."""
    assert not survey(line("E4:w~", "E4:w")).parts[0].loose_ties
    ((index, tick, text),) = survey(line("E4:h.~ r", "E4:w")).parts[0].loose_ties[:1]
    assert (index, tick) == (0, 0)
    assert "ends nowhere" in text


@pytest.mark.parametrize(
    "lost", [{"work_title": ""}, {"creators": (("composer", "Nobody"),)}, {"rights": (("", "x"),)}]
)
def test_header_may_not_change(lost: dict[str, object]) -> None:
    """Title, creators and rights lines survive every step."""
    with pytest.raises(ContractBroken, match=r"s breaks its contract: the .* changed"):
        check((), SOURCE, replace(SOURCE, **lost), step="s")  # type: ignore[arg-type]


def test_parts() -> None:
    """A new part is never allowed; a missing one only where the promises can bear it."""
    two = replace(SOURCE, parts=(*SOURCE.parts, replace(SOURCE.parts[0], id="P2")))
    check({Promise.PITCH_CLASS_SUBSET}, two, SOURCE, step="s")
    with pytest.raises(ContractBroken, match="1 of the parts are gone"):
        check({Promise.ONSETS}, two, SOURCE, step="s")
    with pytest.raises(ContractBroken, match="part 'P2' is not in the source"):
        check((), SOURCE, two, step="s")


def test_message_is_one_line_with_a_way_out() -> None:
    """The error says that nothing is written and that the step is at fault."""
    with pytest.raises(ContractBroken) as caught:
        check({Promise.PITCH_CLASSES}, line("C4:w"), line("D4:w"), step="s")
    assert str(caught.value) == (
        "measure 1, beat 1: s breaks its contract: pitch classes C became D;"
        " nothing is written; this is a defect of the step, please report it"
    )


def test_every_promise_has_words() -> None:
    """Each promise has a name for files and a sentence for people."""
    assert len({promise.meaning for promise in Promise}) == len(Promise)


def test_roots_do_not_survive_everything() -> None:
    """An inversion may change which note counts as the root for the next step."""
    assert Promise.ROOTS in composed({Promise.SOUNDING_PITCHES}, {Promise.ROOTS})
    assert Promise.ROOTS in composed({Promise.ROOTS}, {Promise.PITCH_CLASSES})
    assert Promise.ROOTS not in composed({Promise.ROOTS}, {Promise.ROOTS})
    assert strongest(implied({Promise.SOUNDING_PITCHES, Promise.ONSETS})) == {
        Promise.SOUNDING_PITCHES,
        Promise.ONSETS,
    }
