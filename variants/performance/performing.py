"""How it is played: loud and soft, short and long, rolled, bent, damped; ready to be heard.

What a sign does to a note is common practice: a staccato note lasts half as long, a stroke over a
chord takes some hundredths of a second from string to string, a bend reaches its pitch within the
first half of the note. What cannot be played is told in one line for each kind.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import accumulate, pairwise

from variants.errors import UsageError
from variants.performance.mix import Click, StringStroke
from variants.performance.sounding import Sound, clock_of, order_of, sounds
from variants.score import Event, Instrument, Mark, Note, Part, Score, measures
from variants.score.timeline import Clock

_USUAL = 0.7
# Strength by mark, spread evenly around what is usual.
_STRENGTH = {
    "ppp": 0.3, "pp": 0.4, "p": 0.52, "mp": 0.62, "mf": 0.72, "f": 0.85, "ff": 0.95, "fff": 1.0,
}  # fmt: skip
_ACCENT = {"accent": 0.15, "strong-accent": 0.25, "stress": 0.1}
_LENGTH = {
    "staccato": Fraction(1, 2), "staccatissimo": Fraction(1, 4), "detached-legato": Fraction(3, 4),
}  # fmt: skip
# From string to string: a strummed chord, and one that the sign says to roll slowly.
_STRUM_SECONDS, _ROLL_SECONDS = 0.014, 0.045
_JOINED_STRENGTH = 0.7
_PALM, _DEAD = 14.0, 90.0
_DEAD_SECONDS = 0.08
_RINGS_SECONDS = 4.0
_SPREAD = 0.5
_DYNAMICS = re.compile(r"<dynamics\b[^>]*>\s*<(p+|f+|mp|mf)\b")
_WEDGE = re.compile(r"<wedge\b[^>]*\btype=[\"'](crescendo|diminuendo|stop)[\"']")
_BEND = re.compile(r"<bend-alter>\s*([-+]?[\d.]+)")
_MUTED = re.compile(r"palm mute|\bp\.\s*m\.", re.IGNORECASE)
_UNPLAYED = {
    "trill-mark": "trills", "turn": "turns", "mordent": "mordents",
    "inverted-mordent": "mordents", "tremolo": "tremolos", "fermata": "fermatas",
    "harmonic": "harmonics, which sound as they are written",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Performance:
    """A score as it is played.

    Args:
        strokes: What every string does, in order of time, in seconds.
        clicks: The beats, in seconds.
        bars: Seconds at which each measure begins as it is played, and the end.
        numbers: Its printed number, for each measure as it is played.
        told: What is not played, a line a kind.
    """

    strokes: tuple[StringStroke, ...]
    clicks: tuple[Click, ...]
    bars: tuple[float, ...]
    numbers: tuple[str, ...]
    told: tuple[str, ...]

    def at_speed(self, percent: float) -> Performance:
        """Return the performance slower or faster, all times alike.

        Raises:
            UsageError: The speed is not within 10 to 400 percent.
        """
        if not 10 <= percent <= 400:
            raise UsageError(f"--speed {percent:g}: too far", way_out="give 10 to 400 percent")
        scale = 100 / percent
        return replace(
            self,
            strokes=tuple(
                replace(one, start=one.start * scale, seconds=one.seconds * scale)
                for one in self.strokes
            ),
            clicks=tuple(replace(one, start=one.start * scale) for one in self.clicks),
            bars=tuple(one * scale for one in self.bars),
        )

    def between(self, first: str, last: str) -> Performance:
        """Return what is played from one measure to another, where they first follow each other.

        Args:
            first: A printed number.
            last: Another, or the same.

        Raises:
            UsageError: They are not played in this order.
        """
        start = next((n for n, name in enumerate(self.numbers) if name == first), None)
        stop = None
        if start is not None:
            stop = next(
                (n for n in range(start, len(self.numbers)) if self.numbers[n] == last), None
            )
        if start is None or stop is None:
            raise UsageError(
                f"measures {first} to {last} are not played one after the other",
                way_out=f"they go from {self.numbers[0]} to {self.numbers[-1]}",
            )
        begin, end = self.bars[start], self.bars[stop + 1]
        return replace(
            self,
            strokes=tuple(
                replace(one, start=one.start - begin, seconds=min(one.seconds, end - one.start))
                for one in self.strokes
                if begin <= one.start < end
            ),
            clicks=tuple(
                replace(one, start=one.start - begin)
                for one in self.clicks
                if begin <= one.start < end
            ),
            bars=tuple(one - begin for one in self.bars[start : stop + 2]),
            numbers=self.numbers[start : stop + 1],
        )

    def after(self, other: Performance) -> Performance:
        """Return this performance played after another one."""
        shift = other.bars[-1]
        return replace(
            self,
            strokes=(
                *other.strokes, *(replace(one, start=one.start + shift) for one in self.strokes)
            ),
            clicks=(*other.clicks, *(replace(one, start=one.start + shift) for one in self.clicks)),
            bars=(*other.bars, *(one + shift for one in self.bars[1:])),
            numbers=(*other.numbers, *self.numbers),
        )  # fmt: skip


def performed(
    score: Score, *, only: Sequence[str] = (), without: Sequence[str] = (), repeats: bool = True
) -> Performance:
    """Return how a score is played.

    Args:
        score: The score.
        only: Ids of the parts that play; none: all of them.
        without: Ids of parts that are silent (to play along).
        repeats: Whether repeats, endings and jumps are played out.

    Raises:
        UsageError: There is no such part, or none is left, or the score has no measures.
    """
    parts = _parts(score, only, without)
    if not parts or not parts[0].measures:
        raise UsageError("there is nothing to play", way_out="choose a part that has notes")
    clock = clock_of(score, repeats=repeats)
    strokes: list[StringStroke] = []
    told: set[str] = set()
    for number, part in enumerate(parts):
        pan = _SPREAD * (2 * number / (len(parts) - 1) - 1) if len(parts) > 1 else 0.0
        player = _Player(score, part, clock, pan=pan, repeats=repeats)
        strokes += player.strokes()
        told |= player.told
    order = order_of(score, parts[0], repeats=repeats)
    views = measures(parts[0], score.ticks)
    starts = list(accumulate((views[i].quarters for i in order), initial=Fraction(0)))
    clicks = [
        Click(float(clock.at(start + Fraction(beat) / score.ticks)), is_first=not place)
        for index, start in zip(order, starts, strict=False)
        for place, beat in enumerate(views[index].beats)
        if 0 <= beat < views[index].measure.length
    ]
    lead = -min([0.0, *(one.start for one in strokes)])
    return Performance(
        tuple(
            replace(one, start=one.start + lead)
            for one in sorted(strokes, key=lambda one: (one.start, one.semitones))
        ),
        tuple(replace(one, start=one.start + lead) for one in clicks),
        tuple(float(clock.at(one)) + lead for one in starts),
        tuple(views[index].measure.number for index in order),
        tuple(f"{what} are not played" for what in sorted(told)),
    )


def _parts(score: Score, only: Sequence[str], without: Sequence[str]) -> list[Part]:
    known = {part.id for part in score.parts}
    for name in (*only, *without):
        if name not in known:
            raise UsageError(
                f"there is no part {name}", way_out=f"the parts are {', '.join(sorted(known))}"
            )
    return [
        part for part in score.parts if (not only or part.id in only) and part.id not in without
    ]


class _Player:
    """Plays one part."""

    def __init__(
        self, score: Score, part: Part, clock: Clock, *, pan: float, repeats: bool
    ) -> None:
        self.score, self.part, self.clock, self.pan = score, part, clock, pan
        self.sounds = sounds(score, part, repeats=repeats)
        self.told: set[str] = set()
        self.loudness = _Loudness(part)
        self.kind = _kind(part)

    def strokes(self) -> Iterator[StringStroke]:
        """Yield what the strings do."""
        at: dict[Fraction, list[Sound]] = {}
        for sound in self.sounds:
            at.setdefault(sound.start, []).append(sound)
        for together in at.values():
            rolled = self._rolled(together)
            for place, sound in enumerate(rolled):
                yield self._stroke(sound, place, self._gap(together))

    def _event(self, sound: Sound) -> Event:
        measure, voice, event, _ = sound.head
        return self.part.measures[measure].voices[voice].events[event]

    def _note(self, sound: Sound) -> Note:
        return self._event(sound).notes[sound.head[3]]

    def _rolled(self, together: list[Sound]) -> list[Sound]:
        """Return what begins together in the order in which the hand meets it."""
        names = {mark.name: mark.xml for one in together for mark in self._event(one).marks}
        down = "up-bow" not in names and 'direction="down"' not in names.get("arpeggiate", "")
        return sorted(together, key=lambda one: one.midi, reverse=not down)

    def _gap(self, together: list[Sound]) -> float:
        names = {mark.name for one in together for mark in self._event(one).marks}
        if "arpeggiate" in names:
            return _ROLL_SECONDS
        return _STRUM_SECONDS if names & {"down-bow", "up-bow"} else 0.0

    def _stroke(self, sound: Sound, place: int, gap: float) -> StringStroke:
        event, note = self._event(sound), self._note(sound)
        marks = [*event.marks, *note.marks]
        names = {mark.name for mark in marks}
        self.told |= {_UNPLAYED[name] for name in names & set(_UNPLAYED)}
        start = float(self.clock.at(sound.start))
        length = sound.length * min((_LENGTH[name] for name in names & set(_LENGTH)), default=1)
        seconds = float(self.clock.at(sound.start + length)) - start
        strength = self.loudness.at(sound.head[0], event.onset)
        strength += max((_ACCENT[name] for name in names & set(_ACCENT)), default=0.0)
        if _arrives_joined(marks):
            strength *= _JOINED_STRENGTH
        damping = 0.0
        if any(extra.name == "notehead" and ">x<" in extra.xml for extra in note.extras):
            damping, seconds = _DEAD, min(seconds, _DEAD_SECONDS)
        elif self.loudness.is_muted(sound.head[0], event.onset):
            damping = _PALM
        if any(mark.name == "tied" and 'type="let-ring"' in mark.xml for mark in marks):
            seconds = max(seconds, _RINGS_SECONDS)
        return StringStroke(
            start=start + place * gap,
            seconds=max(0.02, seconds - place * gap),
            semitones=sound.midi,
            open_semitones=_open(self.part.instrument, note, sound.midi),
            kind=self.kind,
            strength=min(1.0, strength),
            damping=damping,
            bend=tuple(_bend(note, seconds)),
            pan=self.pan,
        )


def _arrives_joined(marks: Iterable[Mark]) -> bool:
    return any(mark.name in {"hammer-on", "pull-off"} and mark.role == "stop" for mark in marks)


def _kind(part: Part) -> str:
    lowest = min(part.instrument.open_midi) if part.instrument is not None else 40
    if lowest < 36:
        return "bass"
    words = f"{part.name} {part.abbreviation}".lower()
    is_steel = "electric" in words or "steel" in words or part.midi_program in range(26, 32)
    return "steel" if is_steel else "nylon"


def _open(instrument: Instrument | None, note: Note, midi: int) -> float:
    """Return the open string that a note is played on; without a place the nearest below it."""
    if instrument is None:
        return float(min(midi, 64))
    if note.place is not None and note.place.string <= len(instrument.open_midi):
        return float(instrument.open_midi[note.place.string - 1])
    below = [one for one in instrument.open_midi if one <= midi]
    return float(max(below, default=midi))


def _bend(note: Note, seconds: float) -> Iterator[tuple[float, float]]:
    """Yield the way of a bent note: up within its first half, and back where it is let go."""
    alters = [
        (float(found.group(1)), mark.xml)
        for mark in note.marks
        if mark.name == "bend" and (found := _BEND.search(mark.xml))
    ]
    if not alters:
        return
    now = alters[0][0] if "<pre-bend" in alters[0][1] else 0.0
    step = seconds / (2 * len(alters))
    yield 0.0, now
    for number, (alter, xml) in enumerate(alters):
        aim = 0.0 if "<release" in xml else alter
        yield number * step + step / 4, now
        yield (number + 1) * step, aim
        now = aim


class _Loudness:
    """How strong a stroke is at each moment of a part: dynamics, hairpins, palm mutes."""

    def __init__(self, part: Part) -> None:
        points: list[tuple[tuple[int, int], float]] = []
        wedges: list[tuple[tuple[int, int], str]] = []
        self.muted: list[tuple[tuple[int, int], bool]] = []
        for index, measure in enumerate(part.measures):
            for one in sorted(measure.directions, key=lambda direction: direction.onset):
                at = (index, one.onset)
                mark = _DYNAMICS.search(one.xml)
                if mark and mark.group(1) in _STRENGTH:
                    points.append((at, _STRENGTH[mark.group(1)]))
                wedges += [(at, kind) for kind in _WEDGE.findall(one.xml)]
                if _MUTED.search(one.words):
                    self.muted.append((at, True))
                elif self.muted and re.search(r"type=[\"']stop[\"']", one.xml):
                    self.muted.append((at, False))
        self.points = sorted([*points, *_swelled(points, wedges)])
        self.times = [at for at, _ in self.points]

    def at(self, measure: int, tick: int) -> float:
        """Return the strength of a moment."""
        index = bisect_right(self.times, (measure, tick)) - 1
        return self.points[index][1] if index >= 0 else _USUAL

    def is_muted(self, measure: int, tick: int) -> bool:
        """Whether the palm lies on the strings: from its words to the end of their dashes."""
        before = [muted for at, muted in self.muted if at <= (measure, tick)]
        return bool(before) and before[-1]


def _swelled(
    points: Sequence[tuple[tuple[int, int], float]], wedges: Sequence[tuple[tuple[int, int], str]]
) -> Iterator[tuple[tuple[int, int], float]]:
    """Yield steps half-way and at the end of each hairpin, up or down by one degree."""
    for (start, kind), (stop, other) in pairwise(wedges):
        if kind == "stop" or other != "stop":
            continue
        now = next((value for at, value in reversed(points) if at <= start), _USUAL)
        way = 0.12 if kind == "crescendo" else -0.12
        aim = next((value for at, value in points if at >= stop), now + way)
        aim = min(1.0, max(0.25, aim))
        middle = (start[0] + (stop[0] - start[0]) // 2, stop[1] if start[0] != stop[0] else (
            start[1] + stop[1]) // 2)  # fmt: skip
        yield middle, (now + aim) / 2
        yield stop, aim
