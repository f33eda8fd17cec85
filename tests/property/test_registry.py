"""Every registered step against every promise that it declares, stated anew and plainly."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator
from copy import deepcopy
from dataclasses import replace
from fractions import Fraction
from functools import partial
from itertools import groupby
from typing import Any

import pytest
from hypothesis import event, given, settings
from hypothesis import strategies as st

import variants.steps as exported
from tests.strategies import scores
from variants.contract import Promise
from variants.errors import Refusal
from variants.music import Interval, Key, Pitch
from variants.music.chord import root_of
from variants.music.chordkinds import chord_tones
from variants.pipeline import Outcome, run
from variants.score import (
    Event,
    Onset,
    Part,
    Score,
    map_measure_events,
    onsets,
    timeline,
    with_notes,
    with_parts,
)
from variants.score.order import restruck
from variants.score.roots import roots
from variants.steps import describe_step, list_steps, parse_step

EXAMPLES = [text for info in list_steps() for text in info.examples]
Classes = set[int | Fraction]


def classes(onset: Onset, shift: int = 0) -> Classes:
    """Return the pitch classes of an onset, moved by some semitones."""
    return {(height + shift) % 12 for height in onset.semitones}


def by_time(score: Score, part: Part) -> dict[tuple[int, Fraction, int], Onset]:
    """Return the onsets of a part by measure, time in quarters and grace number."""
    return {(one.measure, Fraction(one.tick, score.ticks), one.grace): one for one in onsets(part)}


def together(before: Score, after: Score) -> Iterator[tuple[Part, Part]]:
    """Yield each part of the result after the part that it comes from."""
    source = {part.id: part for part in before.parts}
    for part in after.parts:
        yield source[part.id], part


def onsetwise(compare: Callable[[Onset, Onset, int], bool]) -> Law:
    """Return the law that every onset of the result agrees with the one it comes from."""

    def holds(before: Score, after: Score, shift: int) -> bool:
        return all(
            key in source and compare(source[key], onset, shift)
            for old, new in together(before, after)
            for source in [by_time(before, old)]
            for key, onset in by_time(after, new).items()
        )

    return holds


Law = Callable[[Score, Score, int], bool]


def same_onsets(before: Score, after: Score, _: int) -> bool:
    """Whether the onsets are the same."""
    return len(before.parts) == len(after.parts) and all(
        by_time(before, old).keys() == by_time(after, new).keys()
        for old, new in together(before, after)
    )


def same_main_onsets(before: Score, after: Score, _: int) -> bool:
    """Whether the onsets are the same, some grace notes aside, and none is new."""
    return all(
        {key for key in source if not key[2]} <= found <= source
        for old, new in together(before, after)
        for source, found in [(by_time(before, old).keys(), by_time(after, new).keys())]
    )


def no_new_onset(before: Score, after: Score, _: int) -> bool:
    """Whether there is no new onset."""
    return all(
        by_time(after, new).keys() <= by_time(before, old).keys()
        for old, new in together(before, after)
    )


def same_lengths(before: Score, after: Score, _: int) -> bool:
    """Whether every measure lasts as long as before, and nothing runs past its end."""
    return all(
        [Fraction(one.length, before.ticks) for one in old.measures]
        == [Fraction(one.length, after.ticks) for one in new.measures]
        and all(
            event.end <= one.length
            for one in new.measures
            for voice in one.voices
            for event in voice.events
        )
        for old, new in together(before, after)
    )


def same_order(before: Score, after: Score, _: int) -> bool:
    """Whether the pitch classes follow each other as before."""
    return all(
        [classes(one) for one in onsets(old)] == [classes(one) for one in onsets(new)]
        for old, new in together(before, after)
    )


def subsequence(before: Score, after: Score, _: int) -> bool:
    """Whether the pitch classes come in the order of the source, some left out."""
    return all(
        all(any(classes(one) == classes(new_one) for one in rest) for new_one in onsets(new))
        for old, new in together(before, after)
        for rest in [iter(onsets(old))]
    )


def same_roots(before: Score, after: Score, _: int) -> bool:
    """Whether each onset still has its root, or that of what one of its voices strikes."""
    return all(
        classes(by_key[key]) & {root.pitch_class, *voice_roots(old, key)}
        for old, new in together(before, after)
        for by_key in [{(o.measure, o.tick, o.grace): o for o in onsets(new)}]
        for key, root in roots(old).items()
        if key in by_key
    )


def voice_roots(part: Part, moment: tuple[int, int, int]) -> set[int | Fraction]:
    """Return the roots of what each voice strikes at a moment."""
    groups: dict[tuple[int, int, int], list[Pitch]] = {}
    for one in timeline(part).struck[moment]:
        groups.setdefault(one.key[:3], []).append(one.pitch)
    told = [root_of(pitches) for pitches in groups.values()]
    return {one.pitch_class for one in told if one is not None} if len(groups) > 1 else set()


def rearranged(score: Score, order: tuple[int, ...] | None) -> Score:
    """Return the score with its measures in another order, ties that lead nowhere taken off."""
    if order is None:
        return score
    return with_parts(score, [_rearranged(part, order) for part in score.parts])


def _rearranged(part: Part, order: tuple[int, ...]) -> Part:
    held: set[int | Fraction] = set()
    measures = []
    for place, index in enumerate(order):
        measure = part.measures[index]
        if index and (place == 0 or order[place - 1] != index - 1):
            measure = map_measure_events(measure, partial(_struck_again, held=frozenset(held)))
        held = {
            note.pitch.semitones
            for voice in measure.voices
            for event in voice.events
            if event.end == measure.length
            for note in event.notes
            if note.pitch is not None and note.tie_start
        }
        measures.append(measure)
    return replace(part, measures=tuple(measures))


def _struck_again(event: Event, *, held: frozenset[int | Fraction]) -> Event:
    if event.onset or event.grace is not None:
        return event
    return with_notes(
        event,
        tuple(
            note
            if note.pitch is None or note.pitch.semitones in held
            else replace(note, tie_stop=False)
            for note in event.notes
        ),
    )


def chord_tones_only(before: Score, after: Score, _: int) -> bool:
    """Whether the symbols are the same, and nothing new sounds that they do not name."""
    return all(
        symbols(old, before.ticks) == symbols(new, after.ticks)
        and all(
            (key in source and classes(one) == classes(source[key]))
            or (classes(one) <= {*tones, *low} and (classes(one) & low or len(classes(one)) == 1))
            for key, one in by_time(after, new).items()
            for tones, low in in_force(new, one)
        )
        for old, new in together(before, after)
        for source in [by_time(before, old)]
    )


def symbols(part: Part, ticks: int) -> list[tuple[object, ...]]:
    """Return the chord symbols of a part: measure, time in quarters, and what each names."""
    return [
        (index, Fraction(one.onset, ticks), one.root, one.kind, one.bass, one.degrees, one.xml)
        for index, measure in enumerate(part.measures)
        for one in measure.harmonies
    ]


def in_force(part: Part, onset: Onset) -> Iterator[tuple[Classes, Classes]]:
    """Yield the notes, and root and bass, of the last symbol up to an onset, if it names any."""
    before = [
        one
        for index, measure in enumerate(part.measures)
        for one in measure.harmonies
        if (index, one.onset) <= (onset.measure, onset.tick)
    ]
    tones = chord_tones(before[-1].kind, before[-1].degrees) if before else None
    if tones is None or before[-1].root is None:
        return
    root = Pitch(*before[-1].root, 4).pitch_class
    bass = {Pitch(*before[-1].bass, 4).pitch_class} if before[-1].bass else set()
    yield {(root + tone.semitones) % 12 for tone in tones}, {root, *bass}


def heard(score: Score, part: Part) -> dict[tuple[int, Fraction], list[tuple[Any, Fraction]]]:
    """Return each main note by measure and time in quarters: height, and quarters with its ties.

    A tie is followed from note to note, by the time at which the one ends and the next begins.
    """
    heads = []
    start = Fraction(0)
    for index, measure in enumerate(part.measures):
        for voice in measure.voices:
            for one in voice.events:
                if one.is_cue or one.grace is not None:
                    continue
                at, long = Fraction(one.onset, score.ticks), Fraction(one.duration, score.ticks)
                heads += [
                    (start + at, start + at + long, index, at, note)
                    for note in one.notes
                    if note.pitch is not None
                ]
        start += Fraction(measure.length, score.ticks)
    found: dict[tuple[int, Fraction], list[tuple[Any, Fraction]]] = {}
    free = [head for head in heads if head[4].tie_stop]
    for begin, end, index, at, note in heads:
        if note.tie_stop or note.pitch is None:
            continue
        until, goes_on = end, note.tie_start
        while goes_on:
            after = [
                one
                for one in free
                if one[0] == until
                and one[4].pitch is not None
                and one[4].pitch.semitones == note.pitch.semitones
            ]
            if not after:
                break
            free.remove(after[0])
            until, goes_on = after[0][1], after[0][4].tie_start
        found.setdefault((index, at), []).append((note.pitch.semitones, until - begin))
    return found


def same_durations(before: Score, after: Score, _: int) -> bool:
    """Whether each note that begins lasts as long as one that began there."""
    return all(
        {length for _, length in notes} <= {length for _, length in source.get(key, [])}
        for old, new in together(before, after)
        for source in [heard(before, old)]
        for key, notes in heard(after, new).items()
    )


def source_notes(before: Score, after: Score, _: int) -> bool:
    """Whether every note is still there, at its pitch, its time and its length."""
    return len(before.parts) == len(after.parts) and all(
        not Counter(notes) - Counter(result.get(key, []))
        for old, new in together(before, after)
        for result in [heard(after, new)]
        for key, notes in heard(before, old).items()
    )


LAWS: dict[Promise, Law] = {
    Promise.SOUNDING_PITCHES: onsetwise(lambda old, new, _: old.semitones == new.semitones),
    Promise.PITCH_CLASSES: onsetwise(lambda old, new, _: classes(old) == classes(new)),
    Promise.SHIFTED_PITCH_CLASSES: onsetwise(
        lambda old, new, shift: classes(old, shift) == classes(new)
    ),
    Promise.PITCH_CLASS_SUBSET: onsetwise(lambda old, new, _: classes(new) <= classes(old)),
    Promise.TOP_LINE: onsetwise(
        lambda old, new, _: old.semitones[-1] % 12 == new.semitones[-1] % 12
    ),
    Promise.ONSETS: same_onsets,
    Promise.MAIN_ONSETS: same_main_onsets,
    Promise.ONSET_SUBSET: no_new_onset,
    Promise.DURATIONS: same_durations,
    Promise.SOURCE_NOTES: source_notes,
    Promise.MEASURE_LENGTHS: same_lengths,
    Promise.PITCH_CLASS_ORDER: same_order,
    Promise.PITCH_CLASS_SUBSEQUENCE: subsequence,
    Promise.ROOTS: same_roots,
    Promise.CHORD_TONES: chord_tones_only,
}


def is_helpful(refusal: Refusal) -> None:
    """Check that a refusal is one line with a cause and a way out."""
    assert "\n" not in str(refusal)
    assert refusal.cause
    assert refusal.way_out


def outcome(score: Score, text: str) -> Outcome | None:
    """Return the outcome of one step, or nothing where it refuses in one line with a way out."""
    try:
        return run(score, [parse_step(text)])
    except Refusal as refusal:
        is_helpful(refusal)
        return None


def test_every_promise_has_a_law() -> None:
    """Each promise is stated a second time here."""
    assert set(LAWS) == set(Promise)


@pytest.mark.parametrize("text", EXAMPLES)
@settings(max_examples=25)
@given(score=scores())
def test_step_keeps_what_it_promises(text: str, score: Score) -> None:
    """Each declared promise holds, and the input is as it was."""
    copy, changes = deepcopy(score), score.changes
    done = outcome(score, text)
    assert score == copy
    assert score.changes == changes
    if done is None:
        return
    shift = done.interval.semitones if done.interval else 0
    source = rearranged(score, done.order)
    for promise in parse_step(text).keeps:
        assert LAWS[promise](source, done.score, shift), promise


@pytest.mark.parametrize("text", EXAMPLES)
@settings(max_examples=10)
@given(score=scores())
def test_step_gives_the_same_each_time(text: str, score: Score) -> None:
    """The same input gives the same result and the same change log."""
    first, second = outcome(score, text), outcome(deepcopy(score), text)
    assert (first is None) == (second is None)
    if first is not None and second is not None:
        assert repr(first.score) == repr(second.score)


@pytest.mark.parametrize("text", EXAMPLES)
@settings(max_examples=5)
@given(score=scores(most_notes=1, voices=1, parts=1, in_range=True, unpitched=False))
def test_header_and_log_survive(text: str, score: Score) -> None:
    """Titles, creators and rights survive; the log grows at its end, by lines of the step."""
    done = outcome(score, text)
    if done is None:
        return
    assert (done.score.title, done.score.creators, done.score.rights) == (
        score.title,
        score.creators,
        score.rights,
    )
    assert done.score.changes == (*score.changes, *done.changes)
    assert {change.step for change in done.changes} <= {text.partition(":")[0]}


@pytest.mark.parametrize("text", EXAMPLES)
def test_step_survives_its_text_and_its_repr(text: str) -> None:
    """A step written as text or as repr is rebuilt from it."""
    step = parse_step(text)
    assert parse_step(describe_step(step)) == step
    names = {info.make.__name__: info.make for info in list_steps()}
    values = {"Interval": Interval, "Key": Key, "Pitch": Pitch}
    assert eval(repr(step), {**names, **values}) == step  # noqa: S307
    assert hash(step) == hash(parse_step(text))


@pytest.mark.parametrize("info", list_steps(), ids=lambda info: info.name)
def test_step_explains_itself(info: exported.StepInfo) -> None:
    """What `list steps` prints is there: a summary, help and allowed values."""
    assert info.summary
    assert "\n" not in info.summary
    for name, known in info.parameters.items():
        assert name == name.lower()
        assert known.help
        assert known.values.text


# Steps that can be asked of most music, so that not every row of three ends in a refusal.
MILD = [text for text in EXAMPLES if not text.startswith(("single-string", "strum"))]
ROWS = st.lists(st.sampled_from(EXAMPLES), min_size=3, max_size=3) | st.lists(
    st.sampled_from(MILD), min_size=3, max_size=3
)


@settings(max_examples=60)
@given(
    score=scores(parts=1, unpitched=False) | scores(parts=1, unpitched=False, in_range=True),
    texts=ROWS,
)
def test_pipeline_keeps_what_it_promises(score: Score, texts: list[str]) -> None:
    """What three steps in any order promise together holds, or one clear refusal says why not."""
    try:
        done = run(score, [parse_step(text) for text in texts])
    except Refusal as refusal:
        is_helpful(refusal)
        return
    event(f"{len(done.kept)} promises kept")
    if done.order is not None and restruck(score.parts[0], done.order):
        return  # what is struck at a seam, one of the steps may have dropped before
    shift = done.interval.semitones if done.interval else 0
    source = rearranged(score, done.order)
    for promise in done.kept:
        assert LAWS[promise](source, done.score, shift), promise


def test_examples_show_every_step() -> None:
    """No two examples are the same, and each step has one."""
    names = [name for name, _ in groupby(text.partition(":")[0] for text in EXAMPLES)]
    assert names == [info.name for info in list_steps()]
    assert len(set(EXAMPLES)) == len(EXAMPLES)
