"""What a step may promise, and the check of each promise.

The pipeline calls `check` at every arrow, so a score is surveyed once and the survey is used
for the arrow into it and the arrow out of it. The unit is the onset: the notes that begin
together in a part (see `variants.score.onsets`). A promise about onsets speaks of every onset
of the result; that none is missing is the promise `ONSETS`.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import zip_longest

from variants.errors import ContractBroken
from variants.music import Interval, Pitch
from variants.music.chord import root_of
from variants.music.pitch import Alteration
from variants.promises import TIMES, Promise, composed, implied, strongest
from variants.score import Part, Score, place_text, timeline
from variants.score.order import arranged, restruck
from variants.score.roots import roots
from variants.score.survey import Flaw, Moments, PartSurvey, Sounds, Survey, survey
from variants.score.symbols import SymbolAt, symbol_classes, symbols_of
from variants.score.timeline import Moment

__all__ = ["TIMES", "Promise", "check", "composed", "implied", "strongest"]

_NAMES = ("C", "C#", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")


@dataclass(frozen=True, slots=True)
class _Pair:
    """One part before and after, with both surveys counting the same ticks.

    ``order`` has for each measure the one of the source that it comes from; none: the same one.
    ``promised`` is all that is promised: what is kept of pitches tells which notes to compare.
    """

    before: PartSurvey
    after: PartSurvey
    shift: int
    order: tuple[int, ...] | None = None
    promised: frozenset[Promise] = frozenset()

    def without(self, places: Collection[int]) -> _Pair:
        """Return the pair without what begins at the start of some measures."""

        def thin(one: PartSurvey) -> PartSurvey:
            moments = tuple(
                {key: heights for key, heights in here.items() if key != (0, 0)}
                if place in places
                else here
                for place, here in enumerate(one.moments)
            )
            return replace(one, moments=moments)

        return replace(self, before=thin(self.before), after=thin(self.after)) if places else self

    def measures(self) -> Iterator[tuple[int, Moments, Moments]]:
        nothing: Moments = {}
        pairs = zip_longest(self.before.moments, self.after.moments, fillvalue=nothing)
        for index, (before, after) in enumerate(pairs):
            if before or after:
                yield index, before, after

    def sounding(self) -> Iterator[tuple[int, Sounds, Sounds]]:
        nothing: Sounds = {}
        pairs = zip_longest(self.before.sounds, self.after.sounds, fillvalue=nothing)
        for index, (before, after) in enumerate(pairs):
            if before or after:
                yield index, before, after


Violation = tuple[int, int, str]


def check(
    promises: Iterable[Promise],
    before: Score | Survey,
    after: Score | Survey,
    *,
    shift: Interval | None = None,
    order: Sequence[int] | None = None,
    step: str,
    is_row: bool = False,
) -> None:
    """Compare a result with its input.

    Besides the promises this always checks that the step made no new fault: a tie without
    its other end, a place on the neck that does not sound the pitch, two notes on one string,
    voices that overlap or run past the measure, a title, creator or rights line that is gone.

    Args:
        promises: What the step promises.
        before: Its input, or a survey of it.
        after: Its result, or a survey of it.
        shift: The interval of `Promise.SHIFTED_PITCH_CLASSES`; none counts as a unison.
        order: For each measure of the result the index of the measure that it comes from, where
            the step takes measures away or writes them again.
        step: Name of the step, for the message.
        is_row: Whether several steps lie between. What a cut strikes that was held before, one of
            them may have dropped, so those moments are not compared; each step was, on its own.

    Raises:
        ContractBroken: Naming measure and beat of the first violation.
    """
    old = before if isinstance(before, Survey) else survey(before)
    new = after if isinstance(after, Survey) else survey(after)
    _check_header(old.score, new.score, step)
    promised = implied(promises)
    wanted = [promise for promise in Promise if promise in set(promises)]
    if _EVERY_PART.intersection(wanted) and len(new.parts) < len(old.parts):
        raise _broken(step, f"{len(old.parts) - len(new.parts)} of the parts are gone")
    for pair in _pairs(old, new, shift.semitones if shift else 0, order=order, step=step):
        known = replace(pair, promised=promised)
        if is_row and pair.order is not None:
            known = known.without(restruck(pair.before.part, pair.order))
        for find in (_structure, *(_CHECKS[promise] for promise in wanted)):
            found = find(known)
            if found:
                raise _broken(step, found[2], place=_place(new, pair, found))


# Promises that a result with fewer parts cannot keep.
_EVERY_PART = {
    *(Promise.ONSETS, Promise.MAIN_ONSETS),
    *(Promise.MEASURE_LENGTHS, Promise.PITCH_CLASS_ORDER, Promise.SOURCE_NOTES),
}


def _broken(step: str, cause: str, *, place: str = "") -> ContractBroken:
    return ContractBroken(
        f"{step} breaks its contract: {cause}",
        place=place,
        way_out="nothing is written; this is a defect of the step, please report it",
    )


def _place(survey_: Survey, pair: _Pair, found: Violation) -> str:
    index, tick, _ = found
    part = pair.after.part
    if index >= len(part.measures):
        return "the end"
    return place_text(survey_.score, part, index, tick // pair.after.scale)


def _check_header(before: Score, after: Score, step: str) -> None:
    for name, old, new in (
        ("title", before.title, after.title),
        ("work title", before.work_title, after.work_title),
        ("creators", before.creators, after.creators),
        ("rights lines", before.rights, after.rights),
        ("source line", before.source, after.source),
    ):
        if old != new:
            raise _broken(step, f"the {name} changed from {old!r} to {new!r}")


def _pairs(
    old: Survey, new: Survey, shift: int, *, order: Sequence[int] | None, step: str
) -> Iterator[_Pair]:
    """Pair the parts by id, and by place among those that share one."""
    waiting: dict[str, list[PartSurvey]] = {}
    for part in old.parts:
        waiting.setdefault(part.part.id, []).append(part)
    known = None if order is None else tuple(order)
    for part in new.parts:
        same = waiting.get(part.part.id)
        if not same:
            raise _broken(step, f"part {part.part.id!r} is not in the source")
        before, after = same.pop(0), part
        if known is not None:
            before = arranged(before, known)
        if old.score.ticks != new.score.ticks:
            before, after = before.scaled(new.score.ticks), after.scaled(old.score.ticks)
        yield _Pair(before, after, shift, known)


def _structure(pair: _Pair) -> Violation | None:
    """Return the first fault that the source does not have."""
    for name in ("loose_ties", "misplaced", "shared_strings", "overfull"):
        was: tuple[Flaw, ...] = getattr(pair.before, name)
        now: tuple[Flaw, ...] = getattr(pair.after, name)
        if len(now) > len(was):
            known = {flaw[:2] for flaw in was}
            return next((flaw for flaw in now if flaw[:2] not in known), now[0])
    return None


def _classes(heights: Iterable[Alteration]) -> set[Alteration]:
    return {height % 12 for height in heights}


def _text(classes: Iterable[Alteration]) -> str:
    named = (_NAMES[int(c)] if c == int(c) else str(c) for c in sorted(classes))
    return " ".join(named) or "nothing"


def _onsetwise(compare: Callable[[list[Alteration], list[Alteration], int], str]) -> Check:
    """Return the check of a promise that looks at one onset of the result at a time."""

    def find(pair: _Pair) -> Violation | None:
        shift = pair.shift
        for index, before, after in pair.measures():
            for moment, heights in after.items():
                old = before.get(moment)
                if old is None:
                    return index, moment[0], f"{_text(_classes(heights))} is a new onset"
                cause = compare(old, heights, shift)
                if cause:
                    return index, moment[0], cause
        return None

    return find


Check = Callable[[_Pair], Violation | None]


def _same_pitches(old: list[Alteration], new: list[Alteration], _: int) -> str:
    if old == new or sorted(old) == sorted(new):
        return ""
    return f"MIDI {_numbers(old)} became {_numbers(new)}"


def _numbers(heights: list[Alteration]) -> str:
    return " ".join(str(height) for height in sorted(heights))


def _same_classes(old: list[Alteration], new: list[Alteration], _: int) -> str:
    if old == new or _classes(old) == _classes(new):
        return ""
    return f"pitch classes {_text(_classes(old))} became {_text(_classes(new))}"


def _shifted_classes(old: list[Alteration], new: list[Alteration], shift: int) -> str:
    expected = {(height + shift) % 12 for height in old}
    if expected == {height % 12 for height in new}:
        return ""
    return (
        f"pitch classes {_text(_classes(old))} became {_text(_classes(new))},"
        f" which is not {shift} semitones away"
    )


def _subset(old: list[Alteration], new: list[Alteration], _: int) -> str:
    added = _classes(new) - _classes(old)
    return f"pitch class {_text(added)} is not in the source" if added else ""


def _top(old: list[Alteration], new: list[Alteration], _: int) -> str:
    was, now = max(old) % 12, max(new) % 12
    return "" if was == now else f"the top note was {_text({was})} and is {_text({now})}"


def _roots(pair: _Pair) -> Violation | None:
    kept = roots(pair.before.part)
    own = _own_roots(pair.before.part)
    for index, _, after in pair.measures():
        for (tick, grace), heights in after.items():
            source = index if pair.order is None else pair.order[index]
            root = kept.get((source, tick // pair.before.scale, grace))
            if root is None and pair.order is not None:
                continue  # held over in the source, struck here
            if root is None:
                return index, tick, f"{_text(_classes(heights))} is a new onset"
            voices = own.get((source, tick // pair.before.scale, grace), set())
            if not _classes(heights) & {root.pitch_class, *voices}:
                return index, tick, f"the root {root.name} is gone"
    return None


def _own_roots(part: Part) -> dict[Moment, set[Alteration]]:
    """Return the roots of what single voices strike where several begin together."""
    found: dict[Moment, set[Alteration]] = {}
    for moment, struck in timeline(part).struck.items():
        groups: dict[tuple[int, int, int], list[Pitch]] = {}
        for one in struck:
            groups.setdefault(one.key[:3], []).append(one.pitch)
        told = [root_of(group) for group in groups.values() if len(groups) > 1]
        found[moment] = {root.pitch_class for root in told if root is not None}
    return found


def _same_onsets(pair: _Pair) -> Violation | None:
    for index, before, after in pair.measures():
        if before.keys() != after.keys():
            tick, _ = min(before.keys() ^ after.keys())
            gained = any(moment[0] == tick for moment in after.keys() - before.keys())
            return index, tick, "there is a new onset" if gained else "an onset is gone"
    return None


def _same_main_onsets(pair: _Pair) -> Violation | None:
    for index, before, after in pair.measures():
        gone = sorted(moment for moment in before.keys() - after.keys() if not moment[1])
        if gone:
            return index, gone[0][0], "an onset is gone"
    return _no_new_onset(pair)


def _no_new_onset(pair: _Pair) -> Violation | None:
    for index, before, after in pair.measures():
        new = after.keys() - before.keys()
        if new:
            return index, min(new)[0], "there is a new onset"
    return None


def _chord_tones(pair: _Pair) -> Violation | None:
    before = _symbols(pair.before)
    if before != _symbols(pair.after):
        return 0, 0, "the chord symbols are not those of the source"
    waiting, now = list(before), None
    for index, old, after in pair.measures():
        for (tick, grace), heights in sorted(after.items()):
            while waiting and waiting[0].moment <= (index, tick):
                now = waiting.pop(0)
            classes = symbol_classes(now.symbol) if now is not None else None
            heard = _classes(heights)
            if classes is None or heard == _classes(old.get((tick, grace), [])):
                continue
            tones, lowest = classes
            if heard - tones:
                return index, tick, f"{_text(heard - tones)} is not in the chord symbol"
            # A bass note alone may be the chord's other one: root and fifth in turn.
            if not heard & lowest and len(heard) > 1:
                return index, tick, "neither root nor bass of the chord symbol is there"
    return None


def _symbols(survey_: PartSurvey) -> list[SymbolAt]:
    return symbols_of(survey_.part, scale=survey_.scale)


def _same_lengths(pair: _Pair) -> Violation | None:
    lengths = zip_longest(pair.before.lengths, pair.after.lengths)
    for index, (before, after) in enumerate(lengths):
        if before is None or after is None:
            was, now = len(pair.before.lengths), len(pair.after.lengths)
            return index, 0, f"there were {was} measures and are {now}"
        if before != after:
            return index, 0, f"the measure lasted {before} ticks and lasts {after}"
    return None


def _same_durations(pair: _Pair) -> Violation | None:
    """Return the first note that lasts as long as none that it may come from.

    Where pitches are kept a note is looked for at its pitch, where pitch classes are kept among
    those of its class, moved as all are; else among all that begin with it.
    """
    exact = Promise.SOUNDING_PITCHES in pair.promised
    shifted = Promise.SHIFTED_PITCH_CLASSES in pair.promised
    by_class = shifted or Promise.PITCH_CLASS_SUBSET in pair.promised
    shift = pair.shift if shifted and not exact else 0
    modulus = 12 if by_class and not exact else 0

    def named(height: Alteration, moved: int) -> Alteration:
        return (height + moved) % modulus if modulus else height if exact else 0

    for index, before, after in pair.sounding():
        for moment, notes in after.items():
            source = before.get(moment, [])
            was = Counter((named(height, shift), length) for height, length, _ in source)
            now = Counter((named(height, 0), length) for height, length, _ in notes)
            wrong = (now - was).keys() if exact else now.keys() - was.keys()
            if wrong:
                _, length = min(wrong)
                lengths = sorted({long for _, long in was})
                cause = f"a note lasts {length} ticks and lasted {' or '.join(map(str, lengths))}"
                return index, moment[0], cause
    return None


def _source_notes(pair: _Pair) -> Violation | None:
    for index, before, after in pair.sounding():
        for moment, notes in before.items():
            was = Counter((height, length) for height, length, _ in notes)
            now = Counter((height, length) for height, length, _ in after.get(moment, []))
            gone = was - now
            if gone:
                height, length = min(gone)
                return index, moment[0], f"MIDI {height} for {length} ticks is gone"
    return None


def _sequence(part: PartSurvey) -> Iterator[tuple[int, int, set[Alteration]]]:
    for index, moments in enumerate(part.moments):
        for moment in sorted(moments):
            yield index, moment[0], _classes(moments[moment])


def _same_order(pair: _Pair) -> Violation | None:
    both = zip_longest(_sequence(pair.before), _sequence(pair.after))
    for old, new in both:
        if new is None:
            last = len(pair.after.moments)
            return last, 0, f"{_text(old[2])} is missing at the end"
        if old is None:
            return new[0], new[1], f"{_text(new[2])} was not there"
        if old[2] != new[2]:
            return new[0], new[1], f"{_text(old[2])} was expected, {_text(new[2])} stands there"
    return None


def _subsequence(pair: _Pair) -> Violation | None:
    source = _sequence(pair.before)
    for index, tick, classes in _sequence(pair.after):
        if not any(old == classes for _, _, old in source):
            return index, tick, f"{_text(classes)} is not in the order of the source"
    return None


_CHECKS: dict[Promise, Check] = {
    Promise.SOUNDING_PITCHES: _onsetwise(_same_pitches),
    Promise.PITCH_CLASSES: _onsetwise(_same_classes),
    Promise.SHIFTED_PITCH_CLASSES: _onsetwise(_shifted_classes),
    Promise.PITCH_CLASS_SUBSET: _onsetwise(_subset),
    Promise.PITCH_CLASS_ORDER: _same_order,
    Promise.PITCH_CLASS_SUBSEQUENCE: _subsequence,
    Promise.TOP_LINE: _onsetwise(_top),
    Promise.ROOTS: _roots,
    Promise.ONSETS: _same_onsets,
    Promise.MAIN_ONSETS: _same_main_onsets,
    Promise.ONSET_SUBSET: _no_new_onset,
    Promise.DURATIONS: _same_durations,
    Promise.SOURCE_NOTES: _source_notes,
    Promise.MEASURE_LENGTHS: _same_lengths,
    Promise.CHORD_TONES: _chord_tones,
}
