"""What `simplify-rhythm` writes, as a good teacher would: before and after."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from tests.strategies import line
from variants.contract import check
from variants.errors import Refusal, UsageError
from variants.music import Metre, NoteValue, Pitch
from variants.score import (
    Attributes,
    Barline,
    Event,
    Harmony,
    Lyric,
    Mark,
    Measure,
    Note,
    Part,
    Place,
    Score,
    Voice,
)
from variants.steps import parse_step
from variants.steps.simplify_rhythm import SimplifyRhythm

LETTERS = {"whole": "w", "half": "h", "quarter": "q", "eighth": "e", "16th": "s", "": "m"}


def shown(score: Score, voice: int = 0) -> list[str]:
    """Return one voice of the first part as `line` reads it, a text for each measure.

    ``m`` is a rest for the whole measure, ``t`` a triplet value, ``g`` a grace note.
    """
    found = []
    for measure in score.parts[0].measures:
        words = []
        for event in measure.voices[voice].events:
            names = "+".join(str(note.pitch) for note in event.notes) or "r"
            value = LETTERS[event.value.type] + "." * event.value.dots
            kind = "g" if event.grace is not None else value + "t" * event.value.is_tuplet
            tied = "~" if any(note.tie_start for note in event.notes) else ""
            words.append(f"{names}:{kind}{tied}")
        found.append(" ".join(words).replace(":q", ""))
    return found


def simplified(score: Score, grid: str = "quarter", keep: str = "all") -> Score:
    """Return the simplified score after checking its contract and that once is enough."""
    step = SimplifyRhythm(grid=grid, keep=keep)
    result = step(score)
    check(step.keeps, score, result, step="simplify-rhythm")
    assert step(result) == result
    return result


@pytest.mark.parametrize(
    ("before", "after"),
    [
        # a syncopation goes to the empty stronger moment after it
        ("E4 G4:e A4:q. B4", "E4 G4 A4 B4"),
        ("E4:q. G4:h A4:e", "E4:h G4 A4"),
        # a dotted figure is evened
        ("E4:q. F4:e G4 A4", "E4 F4 G4 A4"),
        ("E4:e. F4:s G4 A4:h", "E4:e F4:e G4 A4:h"),
        # ties inside a measure become one value
        ("E4~ E4 G4:h", "E4:h G4:h"),
        ("E4:q.~ E4:e G4:h", "E4:h G4:h"),
        # short silences after short notes are no rests
        ("E4:e r:e F4:e r:e G4:e r:e A4:e r:e", "E4 F4 G4 A4"),
        # an off-beat after a rest stays: the rest on the beat is part of the figure
        ("r:e E4:e F4 G4:h", "r:e E4:e F4 G4:h"),
        ("r:e E4:e r:e F4:e G4 r", "r:e E4:e r:e F4:e G4 r"),
        # a push belongs to the beat that it is held over, not to one after a rest
        ("r E4:e F4:q. G4", "r E4 F4 G4"),
        # a rest of a beat stays
        ("E4 r G4 r", "E4 r G4 r"),
        ("E4:h r:h", "E4:h r:h"),
        # where every beat is taken the eighth stays
        ("E4:e F4:e G4 A4 B4", "E4:e F4:e G4 A4 B4"),
        # five onsets on four beats: one pair of eighths, no more
        ("E4:e F4 G4 A4 B4:e", "E4 F4 G4 A4:e B4:e"),
        # a run does not spread out over a beat of rest
        ("C4:s D4:s E4:s F4:s r G4:h", "C4:s D4:s E4:s F4:s r G4:h"),
        # a run in a beat that a longer note leaves free is evened
        ("C4:e D4:s E4:s F4 G4:h", "C4:e D4:s E4:s F4 G4:h"),
        # without a free beat it stays
        ("C4:s D4:s E4:s F4:s G4:h.", "C4:s D4:s E4:s F4:s G4:h."),
    ],
)
def test_quarters_keep_all(before: str, after: str) -> None:
    """On the beats, every note kept. Common practice of easy editions."""
    assert shown(simplified(line(before))) == [after]


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ("E4:e F4:e G4 A4 B4", "E4 G4 A4 B4"),
        ("C4:s D4:s E4:s F4:s G4:h.", "C4 G4:h."),
        ("E4:e. F4:s G4 A4:h", "E4 G4 A4:h"),
        ("E4:e E4:e E4 G4:h", "E4 E4 G4:h"),  # a repeat inside a beat is merged
        ("E4:e F4:e G4:h A4:e B4:e", "E4 G4:h A4:e B4:e"),  # the last note of a piece stays
    ],
)
def test_quarters_keep_strong(before: str, after: str) -> None:
    """Where two notes meet the metrically stronger one stays. Common practice."""
    assert shown(simplified(line(before), keep="strong")) == [after]


def test_other_grids() -> None:
    """Halves keep the first and third beat; eighths leave what stands on eighths alone."""
    music = line("E4:e F4:e G4:e. A4:s B4 C5")
    assert shown(simplified(music, "half", "strong")) == ["E4:h B4 C5"]
    assert shown(simplified(music, "eighth")) == ["E4:e F4:e G4:e A4:e B4 C5"]


def test_an_anticipation_goes_to_the_downbeat() -> None:
    """A note tied over the barline moves to the beat that it anticipates."""
    result = simplified(line("E4 F4 G4:q. A4:e~", "A4 B4 C5:h"))
    assert shown(result) == ["E4 F4 G4:h", "A4 B4 C5:h"]
    assert "measure 1, beat 4.5: moved to measure 2, beat 1" in map(str, result.changes)


def test_nothing_moves_over_a_repeat() -> None:
    """At a repeat the next measure in the file is not the next that is played."""
    music = line("E4 F4 G4:q. A4:e~", "A4 B4 C5:h")
    first, second = music.parts[0].measures
    back = Barline("right", first.length, repeat="backward")
    part = replace(music.parts[0], measures=(replace(first, barlines=(back,)), second))
    result = simplified(replace(music, parts=(part,)))
    assert shown(result) == ["E4 F4 G4 A4~", "A4 B4 C5:h"]


def test_triplets() -> None:
    """A triplet stays the triplet that it is; it does not spread out over rests."""
    triplet = NoteValue("eighth", 0, 3, 2)
    notes = [Note(Pitch.parse(name)) for name in ("C4", "D4", "E4", "F4")]
    run = [Event(4 * n, 4, triplet, (notes[n],)) for n in range(3)]
    tight = [*run, Event(12, 12, NoteValue("quarter"), (notes[3],)), _rest(24, 24)]
    music = _one_measure(tight, 48)
    assert shown(simplified(music)) == ["C4:et D4:et E4:et F4 r:h"]
    roomy = _one_measure([*run, _rest(12, 36)], 48)
    assert shown(simplified(roomy)) == ["C4:et D4:et E4:et r:h."]


def _rest(onset: int, duration: int) -> Event:
    return Event(onset, duration, NoteValue("half", 1 if duration == 36 else 0))


def _one_measure(events: list[Event], length: int, metre: Metre | None = None) -> Score:
    measure = Measure(
        "1",
        length,
        (Voice("1", tuple(events)),),
        attributes=(Attributes(0, metre=metre or Metre()),),
    )
    return Score(12, (Part("P1", "Guitar", (measure,)),))


def test_a_beat_of_a_compound_metre_stands_for_the_quarter() -> None:
    """In 6/8 a grid of quarters is the two dotted quarters, and a tie between them shows both."""
    six = Metre(("6",), (8,))
    eighth, quarter = NoteValue("eighth"), NoteValue("quarter")
    notes = [Note(Pitch.parse(name)) for name in ("C4", "D4", "E4", "F4")]
    events = [
        Event(0, 12, quarter, (notes[0],)),
        Event(12, 6, eighth, (notes[1],)),
        Event(18, 6, eighth, (notes[2],)),
        Event(24, 12, quarter, (notes[3],)),
    ]
    music = _one_measure(events, 36, six)
    assert shown(simplified(music, keep="strong")) == ["C4. E4:e F4"]
    assert shown(simplified(music)) == ["C4 D4:e E4:e F4"]


def test_a_pick_up_keeps_its_place() -> None:
    """The first note of a pick-up stays, and the pick-up stays as long as it was."""
    music = line("C4:e D4:e", "E4:q. F4:e G4:h")
    pick_up = replace(music.parts[0].measures[0], is_implicit=True, number="0")
    part = replace(music.parts[0], measures=(pick_up, music.parts[0].measures[1]))
    result = simplified(replace(music, parts=(part,)), keep="strong")
    assert shown(result) == ["C4", "E4 F4 G4:h"]


def _sung(music: Score, *texts: tuple[str, str]) -> Score:
    """Return the music with a syllable, ``(syllabic, text)``, for each of its first notes."""
    voice = music.parts[0].measures[0].voices[0]
    events = [
        replace(
            event,
            lyrics=(Lyric("1", kind, text, f"<syllabic>{kind}</syllabic><text>{text}</text>"),),
        )
        if text
        else event
        for event, (kind, text) in zip(voice.events, texts, strict=False)
    ]
    voices = (Voice("1", (*events, *voice.events[len(events) :])),)
    measure = replace(music.parts[0].measures[0], voices=voices)
    return replace(music, parts=(replace(music.parts[0], measures=(measure,)),))


def test_a_syllable_that_moves_is_told() -> None:
    """The note that goes and the syllable that goes to another note are both in the log."""
    music = _sung(line("E4 F4:e F4:e F4:e F4:e G4"), ("", ""), ("", ""), ("single", "low"))
    result = simplified(music, keep="strong", grid="half")
    log = [str(change) for change in result.changes]
    assert "measure 1, beat 2.5: F4 dropped: a repeat of the note before" in log
    assert "measure 1, beat 2.5: 'low' is sung on the note before it" in log


def test_syllables_stay_with_their_notes_or_join() -> None:
    """A dropped note gives its syllable to the one before, joined by an elision."""
    texts = [("begin", "Ma"), ("end", "ry"), ("single", "had")]
    result = simplified(_sung(line("E4:e F4:e G4 A4 B4"), *texts), keep="strong")
    sung = [
        [(one.syllabic, one.text) for one in event.lyrics]
        for event in result.parts[0].measures[0].voices[0].events
    ]
    assert sung == [[("single", "Mary")], [("single", "had")], [], []]
    xml = result.parts[0].measures[0].voices[0].events[0].lyrics[0].xml
    assert xml.index("Ma") < xml.index("<elision>") < xml.index("ry")
    assert any("'Mary' is sung on one note" in str(change) for change in result.changes)


def _marked(score: Score, ends: dict[int, str], family: str = "slur") -> Score:
    voice = score.parts[0].measures[0].voices[0]
    events = tuple(
        replace(event, marks=(Mark(family, family, ends[index], "1", f"<{family}/>"),))
        if index in ends
        else event
        for index, event in enumerate(voice.events)
    )
    measure = replace(score.parts[0].measures[0], voices=(Voice("1", events),))
    return replace(score, parts=(replace(score.parts[0], measures=(measure,)),))


def test_a_slur_moves_inward_or_goes() -> None:
    """A slur whose end is dropped ends one note earlier; one with no second note left goes."""
    long = simplified(_marked(line("E4 F4 G4:e A4:e B4"), {0: "start", 3: "stop"}), keep="strong")
    roles = [[mark.role for mark in e.marks] for e in long.parts[0].measures[0].voices[0].events]
    assert roles == [["start"], [], ["stop"], []]
    short = simplified(_marked(line("E4:e F4:e G4 A4:h"), {0: "start", 1: "stop"}), keep="strong")
    assert not any(event.marks for event in short.parts[0].measures[0].voices[0].events)
    assert any("slur dropped" in str(change) for change in short.changes)


def test_a_note_under_a_chord_symbol_is_preferred() -> None:
    """Of two notes for one place the one at a chord change stays, and the symbol does not move."""
    music = line("E4:e. F4:s G4:s A4:e. B4:h")
    harmony = Harmony(15, ("F", 0))
    measure = replace(music.parts[0].measures[0], harmonies=(harmony,))
    plain = simplified(music, "half", "strong")
    result = simplified(
        replace(music, parts=(replace(music.parts[0], measures=(measure,)),)), "half", "strong"
    )
    assert shown(plain) == shown(result) == ["E4:h B4:h"]
    assert result.parts[0].measures[0].harmonies == (harmony,)


def test_grace_notes_are_onsets_too() -> None:
    """keep=all keeps grace notes before their note; keep=strong drops them and says so."""
    music = line("E4 F4:q. G4:e A4")
    voice = music.parts[0].measures[0].voices[0]
    grace = Event(30, 0, NoteValue("eighth"), (Note(Pitch.parse("F#4")),), grace=())
    events = (*voice.events[:2], grace, *voice.events[2:])
    measure = replace(music.parts[0].measures[0], voices=(Voice("1", events),))
    score = replace(music, parts=(replace(music.parts[0], measures=(measure,)),))
    assert shown(simplified(score)) == ["E4 F4 F#4:g G4 A4"]
    strong = simplified(score, keep="strong")
    assert shown(strong) == ["E4 F4 G4 A4"]
    assert any("1 grace note dropped" in str(change) for change in strong.changes)


def test_voices_move_together() -> None:
    """Notes that began together in two voices still do, and a held bass stays held."""
    music = line("E4:q. F4:e G4 A4")
    quarter, half = NoteValue("quarter", 1), NoteValue("half")
    low = (
        Event(0, 18, quarter, (Note(Pitch.parse("C3")),)),
        Event(18, 30, half, (Note(Pitch.parse("F3")),)),
    )
    measure = music.parts[0].measures[0]
    measure = replace(measure, voices=(*measure.voices, Voice("2", low)))
    result = simplified(replace(music, parts=(replace(music.parts[0], measures=(measure,)),)))
    assert shown(result) == ["E4 F4 G4 A4"]
    assert shown(result, 1) == ["C3 F3:h."]


def test_what_is_on_the_grid_stays_as_it_was_printed() -> None:
    """A measure in which nothing moves keeps its beams, marks and note values."""
    music = _marked(line("E4:h F4:h", "E4 F4:q. G4:e A4"), {0: "start", 1: "stop"})
    result = simplified(music)
    assert result.parts[0].measures[0] == music.parts[0].measures[0]
    done = simplified(line("E4 F4 G4 A4"))
    assert [change.message for change in done.changes] == [
        "nothing stands off the grid of quarters"
    ]


def test_places_stay_unless_longer_notes_meet_on_a_string() -> None:
    """Places and fingers stay; they go where a longer note would need the string of another."""
    music = line("E4:e r:e F4 G4:h")
    voice = music.parts[0].measures[0].voices[0]
    on_neck = tuple(
        replace(
            event,
            notes=tuple(
                replace(n, place=Place(1, n.pitch.midi - 64), finger="1") if n.pitch else n
                for n in event.notes
            ),
        )
        for event in voice.events
    )
    measure = replace(music.parts[0].measures[0], voices=(Voice("1", on_neck),))
    part = replace(music.parts[0], measures=(measure,))
    result = simplified(replace(music, parts=(part,)))
    places = [n.place for e in result.parts[0].measures[0].voices[0].events for n in e.notes]
    assert places == [Place(1, 0), Place(1, 1), Place(1, 3)]


def test_log_and_ticks() -> None:
    """The log counts what moved and names what is dropped; ticks stay as few as they were."""
    result = simplified(line("E4:e F4:e G4 A4:q. B4:e", ticks=2), keep="strong")
    texts = [str(change) for change in result.changes]
    assert texts[0].startswith("on a grid of quarters: 1 onset moved, 1 onset dropped")
    assert "measure 1, beat 1.5: F4 dropped: no room on the grid" in texts
    assert "measure 1, beat 4.5: moved to beat 4" in texts
    assert result.ticks == 2
    finer = simplified(line("E4:e F4:e G4:h.", ticks=3 * 2))
    assert finer.ticks % 6 == 0
    assert finer.parts[0].measures[0].length == Fraction(4) * finer.ticks


def test_written_form_and_wrong_values() -> None:
    """The step is read from text; a grid or policy that it has not is refused."""
    assert parse_step("simplify-rhythm:grid=half,keep=strong") == SimplifyRhythm(
        grid="half", keep="strong"
    )
    with pytest.raises(UsageError, match="'16th' is not allowed; use half, quarter or eighth"):
        parse_step("simplify-rhythm:grid=16th")
    with pytest.raises(UsageError, match="keep cannot be 'some'"):
        SimplifyRhythm(keep="some")


def _nameless(ticks: int, *durations: int, rests: int = 0) -> Score:
    """Return a measure of notes and then rests that last so long, without printed values."""
    first, onset, found = line("E4:w"), 0, []
    sounding = first.parts[0].measures[0].voices[0].events[0].notes
    for number, duration in enumerate(durations):
        is_rest = number >= len(durations) - rests
        found.append(Event(onset, duration, NoteValue(""), () if is_rest else sounding))
        onset += duration
    measure = replace(first.parts[0].measures[0], length=onset, voices=(Voice("1", tuple(found)),))
    part = replace(first.parts[0], measures=(measure,))
    return replace(first, ticks=ticks, parts=(part,))


def test_a_silence_that_no_value_writes_stays() -> None:
    """A broken rest at the end of a measure is not made worse."""
    done = simplified(_nameless(17, 17, 17, 4, rests=1))
    *_, last = done.parts[0].measures[0].voices[0].events
    assert (Fraction(last.duration, done.ticks), last.value.type) == (Fraction(4, 17), "")


@pytest.mark.parametrize(
    ("ticks", "durations", "message"),
    [
        (17, (4,), "measure 1, beat 1: something lasts 4/17 quarters here"),
        (68, (252, 9), "measure 1, beat 1: something lasts 63/17 quarters here"),
        (21, (84, 5), "measure 1, beat 1: the measure lasts 89/21 quarters"),
    ],
)
def test_durations_that_no_value_writes(
    ticks: int, durations: tuple[int, ...], message: str
) -> None:
    """The refusal says where the source is broken, and how."""
    with pytest.raises(Refusal) as caught:
        simplified(_nameless(ticks, *durations))
    assert str(caught.value).startswith(message)
    assert "which no note values write" in str(caught.value)
    assert caught.value.way_out
