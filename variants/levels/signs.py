"""Which kinds of ornament the marks of an event are."""

from __future__ import annotations

from variants.score import Event

# MusicXML elements by the kind that level files name.
_KINDS = {
    "bend": "bend",
    "slide": "slide",
    "glissando": "slide",
    "trill-mark": "trill",
    "wavy-line": "trill",
    "shake": "trill",
    "tremolo": "tremolo",
    "mordent": "mordent",
    "inverted-mordent": "mordent",
    "turn": "turn",
    "delayed-turn": "turn",
    "inverted-turn": "turn",
    "delayed-inverted-turn": "turn",
    "vertical-turn": "turn",
    "inverted-vertical-turn": "turn",
    "schleifer": "turn",
    "haydn": "turn",
    "other-ornament": "turn",
    "arpeggiate": "arpeggio",
    "non-arpeggiate": "arpeggio",
}


def ornament_kinds(event: Event) -> set[str]:
    """Return the kinds of ornament that an event carries, as level files name them."""
    found = {"grace"} if event.grace is not None and event.notes else set()
    marks = [*event.marks, *(mark for note in event.notes for mark in note.marks)]
    found.update(_KINDS[mark.name] for mark in marks if mark.name in _KINDS)
    return found
