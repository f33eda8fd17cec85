"""Laws of levels: factors never fall, the quick comparison agrees with the check, losses add."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.strategies import line
from variants.levels import Fitter, NoFit, factors, load_ladder, meets
from variants.levels.difficulty import NOT_MONOTONE
from variants.levels.loss import WEIGHTS, kept, totals, window_losses
from variants.levels.profile import profile
from variants.score import Event, Measure, Note, Part, Place, Score, Voice
from variants.variant import Wishes

NAMES = ("E3", "G3", "A3", "B3", "C4", "D4", "E4", "F#4", "G4", "Bb4")
# Ways to fill a measure in common time, in values of `line`.
RHYTHMS = ("w", "h h", "q q q q", "q. e h", "e q e h", "e e q h", "h. e e", "q s s e h", "h q. e")
RHYTHM_LIMITS = ("notes-at-once", "note-values", "off-beats", "ties", "tuplets", "ornaments")


@st.composite
def lines(draw: st.DrawFn, *, most: int = 4) -> Score:
    """Draw a line of a few measures with rests, dyads and ties."""
    texts = []
    for _ in range(draw(st.integers(1, most))):
        words = []
        for value in draw(st.sampled_from(RHYTHMS)).split():
            name = draw(st.sampled_from((*NAMES, "r", "C3+G3")))
            tie = "~" if name != "r" and draw(st.integers(0, 9)) == 0 else ""
            words.append(f"{name}:{value}{tie}")
        texts.append(" ".join(words))
    return _whole(line(*texts))


def _whole(score: Score) -> Score:
    """Return the score without ties that lead to another note."""
    from variants.score import map_notes, with_parts

    flat = map_notes(score.parts[0], lambda note: replace(note, tie_start=False, tie_stop=False))
    part = score.parts[0]
    events = [event for measure in part.measures for event in measure.voices[0].events]
    good = True
    for event, following in zip(events, [*events[1:], None], strict=True):
        starts = {note.pitch for note in event.notes if note.tie_start}
        stops = {note.pitch for note in following.notes if note.tie_stop} if following else set()
        good = good and starts == stops
    return score if good else with_parts(score, [flat])


def _with(part: Part, place: tuple[int, int], event: Event) -> Part:
    measures = list(part.measures)
    events = list(measures[place[0]].voices[0].events)
    events[place[1]] = event
    measures[place[0]] = replace(measures[place[0]], voices=(Voice("1", tuple(events)),))
    return replace(part, measures=tuple(measures))


def _values(score: Score) -> dict[str, float]:
    return {one.name: one.value for one in factors(score, score.parts[0])}


def _never_falls(before: Score, after: Score) -> None:
    old, new = _values(before), _values(after)
    for name, value in old.items():
        if name not in NOT_MONOTONE:
            assert new[name] >= value - 1e-9, name


@given(st.data(), lines())
@settings(max_examples=60)
def test_another_note_never_lowers_a_factor(data: st.DataObject, score: Score) -> None:
    """A note in place of a rest, or beside a note, makes nothing easier (repetition aside)."""
    part = score.parts[0]
    spots = [
        (m, e)
        for m, measure in enumerate(part.measures)
        for e, event in enumerate(measure.voices[0].events)
        if not any(note.tie_start or note.tie_stop for note in event.notes)
    ]
    if not spots:
        return
    where = data.draw(st.sampled_from(spots))
    event = part.measures[where[0]].voices[0].events[where[1]]
    extra = line(data.draw(st.sampled_from(NAMES))).parts[0].measures[0].voices[0].events[0].notes
    if extra[0].pitch in [note.pitch for note in event.notes]:
        return
    more = _with(part, where, replace(event, notes=(*event.notes, *extra)))
    _never_falls(score, replace(score, parts=(more,)))


@given(lines(), st.sampled_from(NAMES), st.booleans())
@settings(max_examples=40)
def test_another_off_beat_never_lowers_a_factor(score: Score, name: str, held: bool) -> None:
    """A measure more that begins off the beat makes nothing easier."""
    part = score.parts[0]
    text = f"r:e {name}:h. r:e" if held else f"r:e {name}:e r:h."
    extra = line(text).parts[0].measures[0]
    added = Measure("99", extra.length, extra.voices)
    more = replace(part, measures=(*part.measures, added))
    _never_falls(score, replace(score, parts=(more,)))


@given(st.lists(st.integers(1, 12), min_size=2, max_size=6), st.integers(1, 12), st.data())
@settings(max_examples=60)
def test_another_shift_never_lowers_a_factor(
    frets: list[int], fret: int, data: st.DataObject
) -> None:
    """A stopped note between two others, wherever it lies, makes no shift easier."""
    where = data.draw(st.integers(1, len(frets) - 1))
    rests = _on_string([*frets[:where], None, *frets[where:]])
    notes = _on_string([*frets[:where], fret, *frets[where:]])
    _never_falls(rests, notes)


def _on_string(frets: list[int | None]) -> Score:
    """Return a line of quarters on string 1, all with the first finger."""
    score = line(*["E4:q r:q r:q r:q" for _ in range((len(frets) + 3) // 4)])
    part = score.parts[0]
    pitches = line(*[" ".join(["E4"] * 4)] * 1).parts[0].measures[0].voices[0].events[0].notes
    for index, fret in enumerate(frets + [None] * (-len(frets) % 4)):
        measure, event_index = divmod(index, 4)
        event = part.measures[measure].voices[0].events[event_index]
        notes: tuple[Note, ...] = ()
        if fret is not None:
            pitch = pitches[0].pitch
            assert pitch is not None
            from variants.music import Key
            from variants.music.key import spelled

            notes = (Note(spelled(64 + fret, Key(0)), place=Place(1, fret), finger="1"),)
        part = _with(part, (measure, event_index), replace(event, notes=notes))
    return replace(score, parts=(part,))


@given(lines())
@settings(max_examples=80)
def test_quick_comparison_agrees_with_the_check(score: Score) -> None:
    """The search's own look at rhythm and texture names the limits that the check names."""
    found = profile(score, score.parts[0])
    for level in load_ladder():
        quick = {name for one in found.measures for name in one.blocks(level)}
        slow = {one.limit for one in meets(score, level)} & set(RHYTHM_LIMITS)
        assert quick == slow, level.name


@given(lines())
@settings(max_examples=40)
def test_a_score_keeps_all_of_itself(score: Score) -> None:
    """Nothing is lost where nothing is changed."""
    found = profile(score, score.parts[0])
    of = totals(kept(found, found))
    assert not any(window_losses(kept(found, found), of).values())


@given(lines(most=3))
@settings(max_examples=6, deadline=None)
def test_fits_meet_their_levels_and_lose_less_where_more_is_allowed(score: Score) -> None:
    """Fits of random lines meet their level as written; loss never rises along the ladder."""
    before: float | None = None
    for level in load_ladder():
        found = Fitter(score, Wishes()).fits(level)
        if isinstance(found, NoFit):
            continue
        fit = found[0]
        assert not meets(fit.variant.score, level)
        # Its own strings may cost another key, up to what the easier level's cost.
        assert before is None or fit.plan.total <= before + WEIGHTS["area"] + 1e-9
        before = fit.plan.total
