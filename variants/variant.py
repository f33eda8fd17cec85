"""From a score as read to a proven variant: part, strings, steps, fingering, marks, bytes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from itertools import takewhile
from typing import Literal

from variants.contract import TIMES, Promise, check, composed, implied, strongest
from variants.errors import Refusal
from variants.fingering import HandPin, Settings
from variants.fingering.moved import gone_with_steps, with_moved_shapes
from variants.fingering.score import HandPlace, passage_of
from variants.finish import Finished, finish
from variants.marks import FINGERING, MARKS, USUAL, Marking, apply_marks, remove_marks
from variants.marks.own import PLACE, without_own_fingering, without_text
from variants.music import Interval, spelled
from variants.musicxml import Reading, Staves, read_raw, to_bytes, to_mxl
from variants.pins import Pin, found_again
from variants.pipeline import Outcome, run
from variants.prepare import Strings, parts_text, pick_part, prepare
from variants.score import Change, NoteKey, Score, measures, notes, with_changes, with_parts
from variants.score.strung import tunings
from variants.score.survey import Survey, survey
from variants.steps import Step
from variants.steps.choose_part import ChoosePart
from variants.steps.measures import Measures
from variants.steps.shift_position import ShiftPosition

# What of the fingering of a source holds: all that is possible, nothing but pins, nothing; or all
# that stands there, what we chose earlier too.
FingeringWish = Literal["keep", "fill", "new", "as-is"]

# Whatever finds places, sets marks or writes must leave the music alone.
_UNTOUCHED = frozenset({Promise.SOUNDING_PITCHES, *TIMES})


@dataclass(frozen=True, slots=True, kw_only=True)
class Wishes:
    """How a variant is made, its steps aside.

    Args:
        part: Id or name of a part, ``all``, or empty for the only one for guitar.
        reading: How a plain treble clef sounds.
        strings: Tuning and capo.
        fingering: What of the file's strings, frets and fingers holds.
        pins: What somebody has settled; found again in what the steps leave.
        version: Name of the variant, for pins that are of one.
        settings: The hand, its limits and wishes.
        marks: What is printed beside the notes; see `variants.marks.parse_marks`.
        has_tab: Whether a tab staff will be written, so that every note needs a place.
        places: Whether string and fret will be written on a notation staff.
    """

    part: str = ""
    reading: Reading | str = Reading.AUTO
    strings: Strings = field(default_factory=Strings)
    fingering: FingeringWish = "keep"
    pins: tuple[Pin, ...] = ()
    version: str = ""
    settings: Settings = field(default_factory=Settings)
    marks: tuple[Marking, ...] = USUAL
    has_tab: bool = True
    places: bool = False

    @property
    def needs_hand(self) -> bool:
        """Whether anything that will be written depends on a fingering."""
        return self.has_tab or self.places or any(MARKS[one.name].fretted for one in self.marks)


@dataclass(frozen=True, slots=True)
class Variant:
    """A variant, proven step by step.

    Args:
        score: The result; its change log holds all that was said since the file was read.
        source: What the steps were given: the part that was chosen, strung.
        steps: The steps, as they were asked for.
        kept: What all of them together have kept, without what follows from the rest.
        interval: By how much they moved the music; ``None`` if none of them moves it.
        hands: For each fingered part by its place in the score, the hand along time.
        is_unchanged: Whether the steps left every note as it was given to them.
    """

    score: Score
    source: Score
    steps: tuple[Step, ...]
    kept: frozenset[Promise]
    interval: Interval | None
    hands: dict[int, tuple[HandPlace, ...]] = field(hash=False, default_factory=dict)
    is_unchanged: bool = False

    @property
    def changes(self) -> tuple[Change, ...]:
        """All that was changed, dropped, moved or assumed since the file was read."""
        return self.score.changes


def make_variant(score: Score, steps: Sequence[Step], wishes: Wishes) -> Variant:
    """Choose the part, string it, run the steps, finger the result; prove each.

    Steps ``choose-part`` at the head choose from the score as read, so that what they leave is
    taken to be for the player.

    Raises:
        UsageError: No such part or tuning, or several parts could be meant.
        Refusal: A step cannot be applied, or no hand can play the result.
        ContractBroken: A step did not keep what it promises.
    """
    leading = leading_steps(score, steps)
    chosen = run(score, leading).score if leading else score
    source = make_ready(chosen, wishes)
    outcome = run(source, steps[len(leading) :])
    _check_notes_left(score, outcome.score)
    is_unchanged = bool(steps) and not leading and outcome.score.parts == source.parts
    if wishes.fingering == "keep":
        outcome = replace(outcome, score=_with_decided(source, outcome))
    if wishes.needs_hand:
        settings = _settings(wishes.settings, outcome.score, steps)
        pins, lost = pinned(outcome.score, wishes)
        score_there = with_changes(outcome.score, lost)
        done = finish(score_there, settings, marks=wishes.marks, pins=pins)
        if not (wishes.has_tab or wishes.places):
            # A place that is not written is not said to be ours.
            bare = [without_text(part, PLACE, lambda note: note) for part in done.score.parts]
            done = replace(done, score=with_parts(done.score, bare))
    else:
        done = Finished(apply_marks(outcome.score, {}, wishes.marks))
    return Variant(
        score=proven(outcome.score, done),
        source=source,
        steps=tuple(steps),
        kept=_kept(leading, outcome),
        interval=outcome.interval,
        hands=done.hands,
        is_unchanged=is_unchanged,
    )


def pinned(score: Score, wishes: Wishes) -> tuple[dict[NoteKey, HandPin], tuple[Change, ...]]:
    """Return the pins of the part with strings, and lines for those that are lost."""
    part = next((one for one in score.parts if one.instrument is not None), None)
    if part is None or not wishes.pins or wishes.fingering == "new":
        return {}, ()
    found = found_again(wishes.pins, score, part, version=wishes.version)
    return found.heads, found.lost


def _with_decided(source: Score, outcome: Outcome) -> Score:
    """Return what the steps left with the shapes that moved along, and lines for what went."""
    score = outcome.score
    if outcome.interval is not None and outcome.interval.semitones:
        score = with_moved_shapes(source, score, outcome.interval.semitones)
    return with_changes(score, gone_with_steps(source, score))


def _check_notes_left(before: Score, after: Score) -> None:
    """Check that a piece with notes has not become one of rests.

    Raises:
        Refusal: It has.
    """
    if any(any(notes(part)) for part in after.parts):
        return
    heard = [part for part in before.parts if any(notes(part))]
    if heard:
        names = parts_text(after.parts)
        raise Refusal(
            f"what was chosen ({names}) has only rests, and nothing would be left to play",
            way_out=f"choose other measures, another voice, or with --part {parts_text(heard)}",
        )


def _settings(settings: Settings, score: Score, steps: Sequence[Step]) -> Settings:
    """Return the settings with the position that a step has put the part into, if it is there.

    Its places leave the fingers free: without this a page of the fifth position could be fingered
    as if it stood in the fourth.
    """
    asked = [step.position for step in steps if isinstance(step, ShiftPosition)]
    placed = all(
        note.place is not None or note.pitch is None
        for part in score.parts
        if part.instrument is not None
        for note in notes(part)
    )
    if settings.position is not None or not placed or not asked or asked[-1] is None:
        return settings
    return replace(settings, position=asked[-1])


def make_ready(score: Score, wishes: Wishes) -> Score:
    """Return what the first step is given: the part that is meant, at its octave and strung.

    Marks of ours are off, so that no step takes counting for words that are sung. What somebody
    decided of the fingering stays, if it is to be kept; our own earlier choice is none.

    Raises:
        UsageError: No such part or tuning, or several parts could be meant.
    """
    part = pick_part(score, wishes.part)
    chosen = run(score, [ChoosePart(part=part)]).score if part else score
    if wishes.fingering == "keep":
        chosen = with_parts(chosen, [without_own_fingering(part) for part in chosen.parts])
    keeps = wishes.fingering in {"keep", "as-is"}
    strings = replace(wishes.strings, keep_places=keeps)
    ready = prepare(chosen, wishes.reading, strings)
    return remove_marks(ready, [name for name in MARKS if name != FINGERING])


def proven(before: Score, done: Finished) -> Score:
    """Return a fingered and marked score, checked against what it was before.

    Raises:
        ContractBroken: A note was lost or changed, or two notes need one string at once.
    """
    check(_UNTOUCHED, before, _without_let_go(done), step="fingering")
    return with_changes(done.score, _let_go(done))


def leading_steps(score: Score, steps: Sequence[Step]) -> tuple[Step, ...]:
    """Return the steps at the head that choose from a score as read, before it is strung.

    A range of measures is such a choice where a part is retuned on the way: it may leave one
    tuning.
    """
    kinds: tuple[type, ...] = (ChoosePart,)
    if any(len(tunings(part)) > 1 for part in score.parts):
        kinds = (ChoosePart, Measures)
    return tuple(takewhile(lambda step: isinstance(step, kinds), steps))


def _kept(leading: Sequence[Step], outcome: Outcome) -> frozenset[Promise]:
    kept = implied(Promise)
    for promises in (*(step.keeps for step in leading), outcome.kept):
        kept = composed(kept, promises)
    return strongest(kept)


def _without_let_go(done: Finished) -> Survey:
    """Return a survey in which a string that the hand has let go in time is free.

    A hand may end a held note early where no other way is playable; it is no fault of the tab,
    and `_let_go` puts it into the change log.
    """
    found = survey(done.score)
    parts = list(found.parts)
    for index, places in done.hands.items():
        # Where the hand does nothing, a tied note merely goes on that was let go before.
        busy = {(one.measure, one.tick) for one in places if not one.hand.let_go}
        left = tuple(flaw for flaw in parts[index].shared_strings if flaw[:2] in busy)
        parts[index] = replace(parts[index], shared_strings=left)
    return replace(found, parts=tuple(parts))


def _let_go(done: Finished) -> Iterator[Change]:
    for index, places in sorted(done.hands.items()):
        if not any(one.hand.let_go for one in places):
            continue
        part = done.score.parts[index]
        passage, _ = passage_of(done.score, part)
        views = measures(part, done.score.ticks)
        told: set[int] = set()
        for one in places:
            gone = set(one.hand.let_go) - told
            told |= gone
            if gone:
                view = views[one.measure]
                midi = sorted(passage.notes[head].midi for head in gone)
                names = " and ".join(str(spelled(number, view.key)) for number in midi)
                yield Change(
                    f"the hand lets {names} go before the written end",
                    "fingering",
                    view.measure.number,
                    view.beat_text(one.tick),
                    part.id,
                )


def written(
    score: Score, *, staves: Staves | str = Staves.SOURCE, places: bool = False, mxl: bool = False
) -> bytes:
    """Return a score as MusicXML that has been read again and found the same.

    Args:
        score: The score.
        staves: Which staves a fretted part gets.
        places: Write string and fret on a notation staff that stands alone.
        mxl: Compressed.

    Raises:
        ContractBroken: What was written is not what is in the score; a defect of the writer.
    """
    make = to_mxl if mxl else to_bytes
    data = make(score, staves=staves, places=places)
    check(_UNTOUCHED, score, read_raw(data), step="writing")
    return data
