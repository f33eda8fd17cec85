"""The line of a part that a listener sings.

What a line is taken from is decided once for the part, by the first of these that holds (common
practice of reducing a piece to its tune):

- the voice with words;
- the roots of a riff in power chords: most of what begins together is fifths, fourths and octaves;
- the lower of two voices, where the upper one only strikes chords or repeats a note above it;
- else what lies on top: the highest note of each onset of the upper voice, and where that voice is
  silent for a whole measure, of what sounds instead. A note below one that is still held on top
  is accompaniment, unless the piece is broken chords, whose moving voice is the tune.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from variants.errors import UsageError
from variants.music.chord import root_of
from variants.score import Event, Lyric, Part
from variants.score.timeline import Take, Timeline

# Shares above which a part is what it looks like; common practice, unvalidated.
_MOSTLY = 0.6
_SOME = 0.3
_WORDS = 0.3
WISHES = ("auto", "top", "bottom", "roots")


@dataclass(frozen=True, slots=True)
class Tune:
    """The tune of a part.

    Args:
        kind: ``top``, ``bottom``, ``roots``, ``words`` or ``voice N``.
        reason: Why that is the tune, in words.
        notes: Its notes in order of time.
    """

    kind: str
    reason: str
    notes: tuple[Take, ...]

    @property
    def heights(self) -> list[int]:
        """The MIDI numbers of its notes; quarter tones are rounded down."""
        return [int(note.pitch.semitones) for note in self.notes]


def tune_of(part: Part, *, wish: str = "auto") -> Tune:
    """Return the tune of a part.

    Args:
        part: The part.
        wish: ``auto``, or what the user says it is: ``top``, ``bottom``, ``roots``, ``voice N``.

    Raises:
        UsageError: The wish is none of these, or the part has no such voice.
    """
    notes = struck_in(part)
    if wish.startswith("voice"):
        return _voice(notes, wish)
    if wish not in WISHES:
        raise UsageError(
            f"--tune {wish}: no such line", way_out=f"say {', '.join(WISHES)} or voice N"
        )
    if wish != "auto":
        return Tune(wish, "as you said", tuple(_TAKEN[wish](notes)))
    return _found(part, notes)


def line_like(tune: Tune, part: Part) -> Tune:
    """Return the line of a version that stands where the tune stood in its source.

    A version of one line plays it, wherever the tune lay before.

    Args:
        tune: The tune of the source.
        part: A version of its part.
    """
    if tune.kind in _TAKEN and any(len(group) > 1 for group in together(struck_in(part))):
        return tune_of(part, wish=tune.kind)
    return Tune(tune.kind, tune.reason, tuple(_on_top(struck_in(part))))


def _voice(notes: Sequence[Take], wish: str) -> Tune:
    number = wish.removeprefix("voice").strip()
    own = [note for note in notes if note.voice == number]
    if not own:
        voices = ", ".join(sorted({note.voice for note in notes})) or "none"
        raise UsageError(
            f"--tune {wish}: the part has no such voice", way_out=f"its voices are {voices}"
        )
    return Tune(f"voice {number}", "as you said", tuple(highest(own)))


def _found(part: Part, notes: list[Take]) -> Tune:
    events = part.kept(Timeline).by_key
    sung = [note for note in notes if words_of(events[note.heads[0][:3]])]
    onsets = together(notes)
    if len(sung) >= _WORDS * max(1, len(onsets)):
        voices = {note.voice for note in sung}
        own = [note for note in notes if note.voice in voices]
        return Tune("words", "it has the words", tuple(highest(own)))
    chords = [group for group in onsets if len(group) > 1]
    power = [group for group in chords if is_power_chord(group)]
    if len(chords) >= _SOME * max(1, len(onsets)) and len(power) > _MOSTLY * len(chords):
        return Tune("roots", "the roots of a riff in power chords", tuple(_roots(notes)))
    voices_by_height = _voices(notes)
    if len(voices_by_height) > 1 and _is_accompaniment(voices_by_height[0]):
        lower = voices_by_height[-1]
        if _moves_more(lower, voices_by_height[0]):
            return Tune(
                "bottom", "the lower voice moves under struck chords", tuple(_bottom(notes))
            )
    return Tune("top", "it lies on top", tuple(_on_top(notes)))


def struck_in(part: Part) -> list[Take]:
    """Return every note that is struck, in order of time, low notes first.

    Cue and grace notes are not part of a tune.
    """
    return [take for take in part.kept(Timeline).takes if not take.grace]


def words_of(event: Event) -> list[Lyric]:
    """Return the syllables that are sung to an event; what we print to be counted is none."""
    return [lyric for lyric in event.lyrics if not lyric.name and lyric.text]


def together(notes: Iterable[Take]) -> list[list[Take]]:
    """Return what begins together, in order of time, low notes first in each."""
    groups: dict[int, list[Take]] = defaultdict(list)
    for note in notes:
        groups[note.start].append(note)
    return [groups[start] for start in sorted(groups)]


def is_power_chord(group: Sequence[Take]) -> bool:
    """Whether one voice strikes a root, its fifth and their octaves, and nothing else."""
    classes = {note.pitch.pitch_class for note in group}
    if len({note.voice for note in group}) > 1:
        return False
    return len(classes) == 2 and (max(classes) - min(classes)) in {5, 7}


def highest(notes: Iterable[Take]) -> list[Take]:
    """Return the highest note of each onset."""
    return [group[-1] for group in together(notes)]


def _bottom(notes: Iterable[Take]) -> list[Take]:
    return [group[0] for group in together(notes)]


def _roots(notes: Iterable[Take]) -> list[Take]:
    """Return the lowest note of each onset that is the root of what begins there."""
    found = []
    for group in together(notes):
        root = root_of([note.pitch for note in group])
        named = root.pitch_class if root is not None else group[0].pitch.pitch_class
        found.append(next(note for note in group if note.pitch.pitch_class == named))
    return found


def _on_top(notes: Sequence[Take]) -> list[Take]:
    """Return the upper voice's highest notes; another voice's where that one is silent.

    A note that begins below one still held on top is accompaniment.
    """
    voices = _voices(notes)
    upper = voices[0] if voices else []
    busy = {note.measure for note in upper}
    others = [note for voice in voices[1:] for note in voice if note.measure not in busy]
    line: list[Take] = []
    for note in highest([*upper, *others]):
        covered = (
            line and line[-1].end > note.start and line[-1].pitch.semitones > (note.pitch.semitones)
        )
        if not covered:
            line.append(note)
    return line


def line_voices(part: Part, *, is_top: bool) -> dict[int, str]:
    """Return the voice that carries the outer line in each measure that sounds.

    That is the voice which lies highest (or lowest) on the whole, and where it is silent for a
    whole measure, the next one; nothing for a part with one voice.

    Args:
        part: The part.
        is_top: Whether the upper line is asked for, else the lower one.
    """
    notes = struck_in(part)
    ids = [own[0].voice for own in _voices(notes)]
    if len(ids) < 2:
        return {}
    if not is_top:
        ids = [own[0].voice for own in sorted(_voices(notes), key=_mean_height)]
    sounding = [
        {voice.id for voice in measure.voices if any(map(_is_heard, voice.events))}
        for measure in part.measures
    ]
    return {
        index: next(voice for voice in ids if voice in here)
        for index, here in enumerate(sounding)
        if here.intersection(ids)
    }


def _is_heard(event: Event) -> bool:
    return (
        not event.is_cue
        and event.grace is None
        and any(note.pitch is not None for note in event.notes)
    )


_TAKEN = {"top": highest, "bottom": _bottom, "roots": _roots}


def _voices(notes: Iterable[Take]) -> list[list[Take]]:
    """Return the notes voice by voice, the voice that lies highest on the whole first.

    A voice with few notes beside the others (a chord's inner line) is no upper voice.
    """
    by_voice: dict[str, list[Take]] = defaultdict(list)
    for note in notes:
        by_voice[note.voice].append(note)
    most = max((len(own) for own in by_voice.values()), default=0)

    return sorted(by_voice.values(), key=lambda own: (len(own) * 4 < most, -_mean_height(own)))


def _mean_height(own: Sequence[Take]) -> float:
    return sum(float(note.pitch.semitones) for note in own) / len(own)


def _is_accompaniment(voice: Sequence[Take]) -> bool:
    """Whether a voice mostly strikes chords of two and more notes, or repeats what it struck."""
    groups = together(voice)
    chords = sum(len(group) > 1 for group in groups)
    tops = [group[-1].pitch.semitones for group in groups]
    repeated = sum(a == b for a, b in pairwise(tops))
    return chords > _MOSTLY * len(groups) and repeated > _MOSTLY * max(1, len(groups) - 1)


def _moves_more(lower: Sequence[Take], upper: Sequence[Take]) -> bool:
    """Whether a voice has more different heights than the one above it."""
    tops = Counter(note.pitch.semitones for note in highest(upper))
    return len({note.pitch.semitones for note in lower}) > len(tops)
