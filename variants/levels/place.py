"""The last stage of a plan: a place on the neck and fingers within a level."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from variants.errors import Refusal
from variants.fingering import Settings
from variants.fingering.score import HandPlace, finger_score
from variants.guitar.hand import Hand
from variants.guitar.neck import span_mm
from variants.levels.areas import AreaChoice
from variants.levels.level import Level
from variants.levels.profile import hardest_barre
from variants.score import Instrument, Place, Score, notes
from variants.steps import parse_step

_ENGINE_TEMPO = 120.0
_FIRST_POSITION_FRETS = 4
_HALF_BARRE_STRINGS = 5


@dataclass(frozen=True, slots=True)
class Placed:
    """A fingered version.

    Args:
        steps: The steps that set its places, written; none where the fingering chose them.
        settings: What the fingering was given.
        score: The score with places and fingers.
        rank: How many other ways that would do were left out.
    """

    steps: tuple[str, ...]
    settings: Settings
    score: Score
    hands: dict[int, tuple[HandPlace, ...]] = field(hash=False, compare=False, repr=False)
    rank: int = 0


@dataclass(frozen=True, slots=True)
class Failed:
    """Why a place could not be found: the limit, and in words.

    ``rate`` is by which share of the tempo the shifts would be slow enough; 0 for other limits.
    """

    limit: str
    message: str
    rate: float = 0.0


def settings_for(
    level: Level, hand: str | float, choice: AreaChoice, open_strings: Settings
) -> Settings:
    """Return what the fingering may do within a level and one of its areas."""
    limits = level.limits
    share = limits.stretch.value if limits.stretch is not None else 1.0
    own = Hand.of(hand)
    one, two, three, four, five, six = (share * width for width in own.span_mm)
    return Settings(
        hand=own if share == 1 else Hand("custom", (one, two, three, four, five, six)),
        open_strings=open_strings.open_strings,
        position=open_strings.position,
        max_fret=choice.high_fret,
        allowed_strings=choice.strings,
        barres=hardest_barre(level) > 0,
        fingers=limits.fingers.value if limits.fingers is not None else (1, 2, 3, 4),
        closed=not choice.open,
    )


def place(
    score: Score,
    level: Level,
    choices: Sequence[AreaChoice],
    *,
    hand: str | float,
    wishes: Settings,
    rank: int = 0,
) -> Placed | Failed:
    """Return a version fingered within a level, or what stands in the way.

    Places that the score has are tried first, as they are; then each choice in turn: by a step
    that any recipe can name, else by the fingering alone. ``rank`` leaves out so many of those that
    would do.
    """
    left = rank
    failed = Failed("areas", "no area of the level holds all notes")
    for steps, choice, placed in _ways(score, choices):
        settings = settings_for(level, hand, choice, wishes)
        try:
            done = finger_score(placed, settings, keep_places=True)
        except Refusal as error:
            failed = max(failed, Failed("stretch", str(error)), key=lambda one: one.rate)
            continue
        found = _hand_limit(done.score, done.hands, level)
        if found is None and _is_within(done.score, choice):
            if not left:
                return Placed(steps, settings, done.score, done.hands, rank)
            left -= 1
            continue
        found = found or Failed("areas", "the fingering leaves the area")
        failed = max(failed, found, key=lambda one: one.rate)
    return failed


def _ways(
    score: Score, choices: Sequence[AreaChoice]
) -> Iterator[tuple[tuple[str, ...], AreaChoice, Score]]:
    part = score.parts[0]
    instrument = part.instrument
    if instrument is None:
        return
    places = [note.place for note in notes(part) if note.pitch is not None]
    given = [one for one in places if one is not None]
    if given and len(given) == len(places):
        for choice in choices:
            if _all_within(given, choice):
                yield (), choice, score
                break
    plain = _cleared(score)
    for choice in choices:
        text = _placing(choice, instrument)
        if text:
            try:
                placed = parse_step(text)(plain)
            except Refusal:
                placed = None
            if placed is not None and _is_within(placed, choice):
                yield (text,), choice, placed
        if len(choice.strings) > 1:
            yield (), choice, plain


def _cleared(score: Score) -> Score:
    from variants.score import map_notes, with_parts, without_places

    return with_parts(score, [map_notes(part, without_places) for part in score.parts])


def _placing(choice: AreaChoice, instrument: Instrument) -> str:
    if len(choice.strings) == 1:
        return f"single-string:string={choice.strings[0]},move=never"
    if choice.high_fret <= _FIRST_POSITION_FRETS:
        text = "shift-position:position=1"
        if len(choice.strings) < instrument.strings:
            text += f",strings={'+'.join(map(str, sorted(choice.strings, reverse=True)))}"
        return text
    return ""


def _is_within(score: Score, choice: AreaChoice) -> bool:
    part = score.parts[0]
    return _all_within([note.place for note in notes(part) if note.place is not None], choice)


def _all_within(places: Sequence[Place], choice: AreaChoice) -> bool:
    return all(choice.holds(one) for one in set(places))


def _hand_limit(
    score: Score, hands: dict[int, tuple[HandPlace, ...]], level: Level
) -> Failed | None:
    """Return the limit of barres or shifts that a fingering breaks."""
    allowed = hardest_barre(level)
    part = score.parts[0]
    for one in hands.get(0, ()):
        barre = one.hand.barre
        if barre is not None:
            wide = abs(barre.from_string - barre.to_string) + 1
            if (1 if wide <= _HALF_BARRE_STRINGS else 2) > allowed:
                return Failed("barres", f"a barre over {wide} strings is needed")
    limit = level.limits.shift
    if limit is None or part.instrument is None:
        return None
    is_marked = any(d.quarters_per_minute for m in part.measures for d in m.directions)
    rate = 1.0 if is_marked else _ENGINE_TEMPO / level.practice_tempo
    fastest = _fastest(hands.get(0, ()), part.instrument, rate)
    if fastest > limit.value:
        text = f"the hand would travel {fastest:.0f} mm a second, at most {limit.value:.0f}"
        return Failed("shift", text, limit.value / fastest)
    return None


def _fastest(hands: Sequence[HandPlace], instrument: Instrument, rate: float) -> float:
    """Return the fastest shift in mm a second; open strings between give the hand more time."""
    fastest = clock = since = 0.0
    before: int | None = None
    for one in hands:
        hand = one.hand
        clock += hand.seconds * rate
        if len(hand.notes) <= hand.open_strings:
            continue
        if before is not None and clock > since:
            way = span_mm(
                before + instrument.capo,
                hand.position + instrument.capo,
                scale_length_mm=instrument.scale_length_mm,
            )
            fastest = max(fastest, way / (clock - since))
        if before is None or clock > since:
            before, since = hand.position, clock
    return fastest
