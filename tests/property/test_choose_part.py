"""Laws of choosing a part."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.strategies import scores
from variants.score import Score, Voice, events, onsets
from variants.score.survey import survey
from variants.steps.choose_part import ChoosePart


@settings(max_examples=35)
@given(scores(), st.data())
def test_one_part(score: Score, data: st.DataObject) -> None:
    """The chosen part is left as it was, and choosing it again changes nothing."""
    part = data.draw(st.sampled_from(score.parts))
    step = ChoosePart(part=data.draw(st.sampled_from([part.id, part.name])))
    chosen = step(score)
    assert chosen.parts == (part,)
    assert step(chosen) == chosen


@settings(max_examples=40)
@given(scores(parts=1, unpitched=False), st.data())
def test_one_voice(score: Score, data: st.DataObject) -> None:
    """What begins is what that voice alone begins, and the measures stay."""
    part = score.parts[0]
    known = sorted({voice.id for measure in part.measures for voice in measure.voices})
    name = data.draw(st.sampled_from(known))
    alone = replace(
        part,
        measures=tuple(
            replace(one, voices=tuple(voice for voice in one.voices if voice.id == name))
            for one in part.measures
        ),
    )
    (chosen,) = ChoosePart(voice=name)(score).parts
    assert onsets(chosen) == onsets(alone)
    assert {voice.id for measure in chosen.measures for voice in measure.voices} == {name}
    for before, after in zip(part.measures, chosen.measures, strict=True):
        assert replace(after, voices=(), directions=()) == replace(before, voices=(), directions=())
        assert after.voices


@settings(max_examples=40)
@given(scores(parts=1, unpitched=False), st.data())
def test_one_staff(score: Score, data: st.DataObject) -> None:
    """Two staves can be taken apart, and no tie is left without its other end."""
    part = score.parts[0]
    staves = data.draw(st.lists(st.sampled_from([1, 2]), min_size=3, max_size=3))
    measures = tuple(
        replace(
            measure,
            voices=tuple(
                Voice(
                    voice.id,
                    tuple(replace(e, staff=staves[int(voice.id) % 3]) for e in voice.events),
                )
                for voice in measure.voices
            ),
        )
        for measure in part.measures
    )
    two = replace(score, parts=(replace(part, measures=measures, staves=2),))
    found = []
    for staff in (1, 2):
        (chosen,) = ChoosePart(staff=staff)(two).parts
        assert chosen.staves == 1
        assert all(event.staff == 1 for _, event in events(chosen))
        assert not survey(replace(score, parts=(chosen,))).parts[0].loose_ties
        found += [(o.measure, o.tick, o.grace, h) for o in onsets(chosen) for h in o.semitones]
    whole = [(o.measure, o.tick, o.grace, h) for o in onsets(two.parts[0]) for h in o.semitones]
    assert sorted(found) == sorted(whole)
