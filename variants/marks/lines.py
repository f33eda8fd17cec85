"""Lyric lines of ours: put under the verses of the source, known again by their name."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import lru_cache
from xml.sax.saxutils import escape

from variants.score import Event, EventKey, Lyric, Part, events, map_events, map_keyed

COUNTING, CHORDS, NAMES, RESTING = LINES = ("counting", "chords", "names", "rest-strokes")
# Joins the words of one syllable. A thin space: programs take a plain one for the end of a verse
# number, and a no-break one as well.
SPACE = "\u2009"


def with_line(part: Part, name: str, texts: Mapping[EventKey, Sequence[str]]) -> Part:
    """Return the part with further lyrics.

    Args:
        part: The part.
        name: Name of the lyric line.
        texts: For each event its syllables, one below the other.
    """
    if not texts:
        return part
    first = _last_verse(part) + 1
    return map_keyed(part, lambda key, event: _with_lyrics(event, name, texts.get(key, ()), first))


def _with_lyrics(event: Event, name: str, texts: Sequence[str], first: int) -> Event:
    if not texts:
        return event
    new = tuple(_lyric(text, number, name) for number, text in enumerate(texts, first))
    return with_lyrics(event, (*event.lyrics, *new))


def with_lyrics(event: Event, lyrics: tuple[Lyric, ...]) -> Event:
    """Return the event with other lyrics. Written out: `dataclasses.replace` is far slower."""
    return Event(
        event.onset,
        event.duration,
        event.value,
        event.notes,
        event.staff,
        event.grace,
        event.is_cue,
        event.is_measure_rest,
        event.stem,
        event.beams,
        event.marks,
        lyrics,
        event.extras,
    )


# The same few syllables come again and again.
@lru_cache(maxsize=4096)
def _lyric(text: str, number: int, name: str) -> Lyric:
    xml = f"<syllabic>single</syllabic><text>{escape(text)}</text>"
    return Lyric(str(number), "single", text, xml, name)


def without_line(part: Part, name: str) -> Part:
    """Return the part without our lyrics of a name."""

    def bare(event: Event) -> Event:
        if not any(lyric.name == name for lyric in event.lyrics):
            return event
        return with_lyrics(event, tuple(one for one in event.lyrics if one.name != name))

    carried = any(lyric.name == name for _, event in events(part) for lyric in event.lyrics)
    return map_events(part, bare) if carried else part


def _last_verse(part: Part) -> int:
    # A lyric without a number, or with a name for one, is a first verse.
    numbers = [lyric.number for _, event in events(part) for lyric in event.lyrics]
    return max((int(one) if one.isdecimal() else 1 for one in numbers), default=0)
