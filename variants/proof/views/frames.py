"""The dots of a chord diagram."""

from __future__ import annotations

from dataclasses import dataclass

from lxml import etree

from variants.proof.scan_note import whole


@dataclass(frozen=True, slots=True)
class FrameNote:
    """A dot or an open string of a diagram: frets count from the nut."""

    string: int
    fret: int


def frame_notes(harmony: etree._Element) -> list[FrameNote]:
    """Return the sounding strings of the diagram of a chord symbol."""
    return [
        FrameNote(whole(note.findtext("string")) or 0, whole(note.findtext("fret")) or 0)
        for note in harmony.findall("frame/frame-note")
    ]
