"""Note names under the notes, as they are written: the highest note's name on top."""

from __future__ import annotations

from variants.marks.lines import NAMES, with_line
from variants.marks.marking import Choice, MarkJob
from variants.marks.moments import State, moments
from variants.music import UNISON, Interval, Pitch
from variants.musicxml.attributes_reader import interval_of
from variants.score import EventKey, Measure, Part

CHOICES = (
    Choice("words", ("letters", "solfege"), "C D E, or do re mi"),
    Choice("notes", ("all", "top", "bass"), "which notes of a chord are named"),
)
_SOLFEGE = {"C": "do", "D": "re", "E": "mi", "F": "fa", "G": "sol", "A": "la", "B": "si"}
# By quarter tones. The double sharp is a plain x, which every font has.
_SIGNS = {-4: "♭♭", -3: "♭½", -2: "♭", -1: "½♭", 0: "", 1: "½♯", 2: "♯", 3: "♯½", 4: "x"}


def put_names(job: MarkJob) -> Part:
    """Return the part with the names of all notes that are struck; grace notes have none."""
    part = job.part
    texts: dict[EventKey, tuple[str, ...]] = {}
    down: dict[int, Interval] = {}
    for index, measure in enumerate(part.measures):
        # Only a part that keeps its own staves is written at another pitch class than it sounds.
        if part.instrument is None:
            for change in measure.attributes:
                down |= {one.staff: -interval_of(one) for one in change.transpositions}
        for moment in moments(measure):
            if moment.state is State.STRUCK:
                pitches = _struck(measure, moment.tick, down)
                names = [note_name(one, job.chosen.get("words", "letters")) for one in pitches]
                chosen = _chosen(names, job.chosen.get("notes", "all"))
                texts[index, moment.voice, moment.event] = tuple(dict.fromkeys(chosen))
    return with_line(part, NAMES, texts)


def _struck(measure: Measure, tick: int, down: dict[int, Interval]) -> list[Pitch]:
    found = [
        note.pitch + down.get(note.staff or event.staff, down.get(0, UNISON))
        for event in measure.events
        if event.onset == tick and event.grace is None and not event.is_cue
        for note in event.notes
        if note.pitch is not None and not note.tie_stop
    ]
    return sorted(found, key=lambda pitch: pitch.semitones, reverse=True)


def _chosen(names: list[str], which: str) -> list[str]:
    if which == "top":
        return names[:1]
    return names[-1:] if which == "bass" else names


def note_name(pitch: Pitch, words: str = "letters") -> str:
    """Return the name of a note without its octave.

    >>> note_name(Pitch.parse("F#4")), note_name(Pitch.parse("Bb2"), "solfege")
    ('F♯', 'si♭')
    """
    letter = _SOLFEGE[pitch.letter] if words == "solfege" else pitch.letter
    quarters = int(pitch.alter * 2)
    return letter + _SIGNS.get(quarters, ("♯" if quarters > 0 else "♭") * (abs(quarters) // 2))
