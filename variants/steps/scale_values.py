"""The step `scale-values`: all note values doubled or halved, with the metre."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import ClassVar

from variants.contract import Promise
from variants.errors import UsageError
from variants.music import Metre, NoteValue
from variants.music.duration import TYPES
from variants.score import (
    Attributes,
    Change,
    Direction,
    Event,
    Mark,
    Measure,
    Part,
    Score,
    Voice,
    with_parts,
)
from variants.score.beams import flags
from variants.score.notation import writers
from variants.score.rescale import coarsest, rescaled
from variants.score.timeline import COMMON_TIME
from variants.steps.cutting.arranging import check_measures
from variants.steps.cutting.halving import half_metre, in_halves
from variants.steps.framework.log import Scribe, count, scribe
from variants.steps.framework.reading import choice
from variants.steps.framework.registry import Checked, parameter, register
from variants.steps.wording.tempo_text import with_tempo, with_units

_NAME = "scale-values"
_FACTORS = {"2": Fraction(2), "1/2": Fraction(1, 2)}
_TEMPI = ("alike", "keep")
_METRES = ("scaled", "same")
# No time signature of common practice counts shorter units.
_SHORTEST_UNIT = 64
# Time signatures of beginners' books and song books (common practice).
_USUAL = {2: (2, 3), 4: (2, 3, 4, 5, 6), 8: (3, 4, 5, 6, 7, 9, 12)}
_TUPLET_TYPE = re.compile(r"(<tuplet-type\b[^>]*>)\s*([a-z0-9]+)\s*(</tuplet-type>)")


@register(
    _NAME,
    examples=(
        "scale-values",
        "scale-values:factor=1/2",
        "scale-values:tempo=keep",
        "scale-values:metre=same",
    ),
)
@dataclass(frozen=True, slots=True, kw_only=True)
class ScaleValues(Checked):
    """Double or halve all note values, with the metre: 4/4 in eighths becomes 4/2 in quarters.

    Every measure keeps its notes, its beats and its number; a beat is printed as another value.
    With ``metre=same`` a doubled piece keeps its time signature, and each measure becomes two,
    numbered anew; that is for metres with a beat in their middle. The half of a doubled 6/8 is
    three quarters, so that 6/8 becomes 3/4. Beams are drawn anew. With
    ``tempo=alike`` it sounds as before: tempo marks count the other value (quarter = 80 becomes
    half = 80). With ``tempo=keep`` the marks stay, so that it sounds slower or faster.
    """

    factor: str = parameter("2", "doubled or halved", choice("2", "1/2"))
    tempo: str = parameter(
        "alike",
        "whether it sounds as fast as before, or the tempo marks stay",
        choice("alike", "keep"),
    )
    metre: str = parameter(
        "scaled",
        "whether the metre doubles too, or stays and each measure becomes two",
        choice("scaled", "same"),
    )
    keeps: ClassVar[frozenset[Promise]] = frozenset({Promise.PITCH_CLASS_ORDER})

    def check_together(self) -> None:
        """See `Checked`."""
        if self.metre == "same" and self.factor != "2":
            raise UsageError(
                "only doubled values can keep their metre", way_out="use factor=2 or metre=scaled"
            )

    def __call__(self, score: Score) -> Score:
        """Return the score in other values.

        Raises:
            Refusal: A value or a metre would have no name.
        """
        doubles = self.factor == "2"
        timed = (
            replace(rescaled(score, score.ticks * 2), ticks=score.ticks)
            if doubles
            else coarsest(replace(score, ticks=score.ticks * 2))
        )
        parts: list[Part] = []
        for source, part in zip(score.parts, timed.parts, strict=True):
            job = _Job(scribe(_NAME, score, source), timed.ticks, doubles, self.tempo == "alike")
            done = job.scaled(part)
            parts.append(in_halves(done, job.log, ticks=timed.ticks) if self._cuts else done)
        text = _headline(score, self)
        if self._cuts and parts:
            check_measures(with_parts(timed, parts))
            was, now = len(score.parts[0].measures), len(parts[0].measures)
            text += f"; {count(was, 'measure')} became {now}, numbered anew"
        return with_parts(timed, parts, [Change(text, _NAME)])

    @property
    def _cuts(self) -> bool:
        return self.metre == "same"


def _headline(score: Score, step: ScaleValues) -> str:
    doubles = step.factor == "2"
    metres = dict.fromkeys(
        change.metre
        for part in score.parts[:1]
        for measure in part.measures
        for change in measure.attributes
        if change.metre
    )
    word = "twice" if doubles else "half"
    sound = {
        "alike": "it sounds as fast as before",
        "keep": f"the tempo marks stay, so it sounds {'half' if doubles else 'twice'} as fast",
    }[step.tempo]
    found = [metre for metre in metres or (COMMON_TIME,) if metre.is_measured]
    scaled = [_scaled(metre, doubles=doubles) for metre in found]
    pairs = [f"{old} becomes {new}" for old, new in zip(found, scaled, strict=True)]
    if step.metre == "same":
        halves = [(old, half_metre(old)) for old in found]
        pairs = [f"{old} {'stays' if old == half else f'becomes {half}'}" for old, half in halves]
        scaled = [half for old, half in halves if old != half]
    text = ", and ".join([f"every note is written {word} as long", *pairs])
    usual = {f"{beats}/{kind}" for kind, numbers in _USUAL.items() for beats in numbers}
    rare = [name for name in map(str, scaled) if name not in usual]
    if rare:
        verb = "is" if len(rare) == 1 else "are"
        text += f" ({' and '.join(rare)} {verb} seldom printed)"
    return f"{text}; {sound}"


def _scaled(metre: Metre, *, doubles: bool) -> Metre:
    """Return the metre whose beats are printed as the next longer or shorter value."""
    kinds = tuple(kind // 2 if doubles else kind * 2 for kind in metre.beat_types)
    symbol = metre.symbol if metre.symbol not in {"common", "cut"} else ""
    return Metre(metre.beats, kinds, symbol)


@dataclass(frozen=True, slots=True)
class _Job:
    """One part in other values."""

    log: Scribe
    ticks: int
    doubles: bool
    alike: bool

    def scaled(self, part: Part) -> Part:
        """Return the part, whose times are scaled already, with its values, metres and beams."""
        done = [self._measure(index, one) for index, one in enumerate(part.measures)]
        part = replace(part, measures=tuple(done))
        if done and not any(one.metre and not one.onset for one in done[0].attributes):
            part = replace(part, measures=(self._with_metre(done[0]), *done[1:]))
        pairs = zip(part.measures, writers(part, self.ticks), strict=True)
        return replace(part, measures=tuple(one.beamed_measure(measure) for measure, one in pairs))

    def _measure(self, index: int, measure: Measure) -> Measure:
        return replace(
            measure,
            voices=tuple(
                Voice(
                    voice.id,
                    tuple(self._event(index, place, event) for place, event in _at(measure, voice)),
                )
                for voice in measure.voices
            ),
            attributes=tuple(
                replace(one, metre=self._metre(index, one.metre)) if one.metre else one
                for one in measure.attributes
            ),
            directions=tuple(map(self._direction, measure.directions)),
        )

    def _with_metre(self, measure: Measure) -> Measure:
        """Return the first measure with a metre: without one the source was in common time."""
        metre = self._metre(0, COMMON_TIME)
        if not measure.attributes or measure.attributes[0].onset:
            return replace(measure, attributes=(Attributes(0, metre=metre), *measure.attributes))
        first = replace(measure.attributes[0], metre=metre)
        return replace(measure, attributes=(first, *measure.attributes[1:]))

    def _metre(self, index: int, metre: Metre) -> Metre:
        scaled = _scaled(metre, doubles=self.doubles)
        if any(not 1 <= kind <= _SHORTEST_UNIT for kind in scaled.beat_types):
            word = "doubled" if self.doubles else "halved"
            raise self.log.refusal(
                index,
                0,
                f"{metre} cannot be {word}: no time signature counts such values",
                way_out=f"use factor={'1/2' if self.doubles else '2'}",
            )
        return scaled

    def _direction(self, one: Direction) -> Direction:
        if not self.alike:
            return one
        factor = Fraction(2) if self.doubles else Fraction(1, 2)
        tempo = one.quarters_per_minute
        return replace(
            one,
            xml=with_units(one.xml, self._type_or_same),
            sound=with_tempo(one.sound, lambda old: old * factor),
            quarters_per_minute=None if tempo is None else tempo * factor,
        )

    def _type_or_same(self, name: str) -> str:
        return self._type(name) or name

    def _type(self, name: str) -> str:
        """Return the next longer or shorter note type; empty if there is none."""
        place = TYPES.index(name) + (-1 if self.doubles else 1) if name in TYPES else -1
        return TYPES[place] if 0 <= place < len(TYPES) else ""

    def _event(self, index: int, tick: int, event: Event) -> Event:
        value = event.value
        if not value.type:
            return event
        name = self._type(value.type)
        if not name:
            raise self.log.refusal(
                index,
                tick,
                f"a {value.type} note has no value {'twice' if self.doubles else 'half'} as long",
                way_out=f"use factor={'1/2' if self.doubles else '2'}",
            )
        new = replace(
            value,
            type=name,
            normal_type=self._type_or_same(value.normal_type) if value.normal_type else "",
        )
        return replace(
            event,
            value=new,
            marks=tuple(map(self._mark, event.marks)),
            beams=_grace_beams(event, new),
            stem="" if event.stem == "none" else event.stem,
        )

    def _mark(self, mark: Mark) -> Mark:
        if mark.family != "tuplet" or "tuplet-type" not in mark.xml:
            return mark

        def one(found: re.Match[str]) -> str:
            return f"{found.group(1)}{self._type_or_same(found.group(2))}{found.group(3)}"

        return replace(mark, xml=_TUPLET_TYPE.sub(one, mark.xml))


def _at(measure: Measure, voice: Voice) -> list[tuple[int, Event]]:
    """Return each event with its tick, kept inside the measure for the message."""
    return [(min(event.onset, measure.length), event) for event in voice.events]


def _grace_beams(event: Event, value: NoteValue) -> tuple[str, ...]:
    """Return the beams of a grace note with as many levels as its value has flags."""
    return event.beams if event.grace is None else event.beams[: flags(value)]
