"""Which signs of a note are ours, so that they alone are taken off again.

A note that carries a fingering, stroke, plucking finger or circled string of ours says so in its
MusicXML ``level``, the standard's element for who an editorial sign is from:
``<level>neckwise: fingering=2, place=3/5, strokes</level>``. It travels with the note as an
`Extra`; what the source had in its own ``level`` stays in front. Fingers and places stand there
with their values: one that somebody has changed since is no longer ours. Directions are known by
their id, lyrics by their name.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Iterable
from dataclasses import replace

from variants.score import Extra, Mark, Note, Part, map_notes, notes

_LEVEL = "level"
PLACE = "place"
_FINGERING = "fingering"
_OURS = re.compile(r"(?:; )?neckwise: ([a-zT0-9=/, ]*)(?=</level>)")
_EMPTY = re.compile(r"<level(?: [^<>]*)?></level>")


def own_signs(note: Note) -> frozenset[str]:
    """Return the names of the marks of ours that a note carries, as we have set them."""
    found = set()
    for word in _said(note):
        name, equals, value = word.partition("=")
        if not equals or value == _value(note, name):
            found.add(name)
    return frozenset(found)


def set_by_us(note: Note) -> dict[str, str]:
    """Return what we have set on a note, whatever it has become since.

    >>> set_by_us(with_own(Note(None, finger="2"), ["fingering"]))
    {'fingering': '2'}
    """
    pairs = (word.partition("=") for word in _said(note))
    return {name: value for name, equals, value in pairs if equals}


def _said(note: Note) -> list[str]:
    for extra in note.extras:
        if extra.name == _LEVEL:
            found = _OURS.search(extra.xml)
            return found.group(1).split(", ") if found else []
    return []


def _value(note: Note, name: str) -> str:
    if name == _FINGERING:
        return note.finger
    if name == PLACE:
        return f"{note.place.string}/{note.place.fret}" if note.place else ""
    return ""


def with_own(note: Note, names: Iterable[str]) -> Note:
    """Return the note saying that just these marks on it are ours.

    >>> note = with_own(Note(None, finger="1"), ["strokes", "fingering"])
    >>> note.extras[0].xml, with_own(note, []) == Note(None, finger="1")
    ('<level>neckwise: fingering=1, strokes</level>', True)
    """
    values = ((name, _value(note, name)) for name in sorted(set(names)))
    wanted = [f"{name}={value}" if value else name for name, value in values]
    if wanted == _said(note):
        return note
    kept = [_without(extra) for extra in note.extras]
    extras = tuple(extra for extra in kept if extra is not None)
    if not wanted:
        return replace(note, extras=extras)
    text = f"neckwise: {', '.join(wanted)}"
    theirs = next((extra for extra in extras if extra.name == _LEVEL), None)
    if theirs is None:
        return replace(note, extras=(*extras, Extra(_LEVEL, f"<level>{text}</level>")))
    head = theirs.xml.removesuffix("</level>")
    joined = Extra(_LEVEL, f"{head}; {text}</level>")
    return replace(note, extras=tuple(joined if e is theirs else e for e in extras))


def may_own(note: Note) -> bool:
    """Whether a note can say what is ours: not if the source left it an empty ``level``."""
    levels = [extra.xml for extra in note.extras if extra.name == _LEVEL]
    return all(xml.endswith("</level>") and not _EMPTY.fullmatch(xml) for xml in levels)


def _without(extra: Extra) -> Extra | None:
    if extra.name != _LEVEL or not _OURS.search(extra.xml):
        return extra
    text = _OURS.sub("", extra.xml)
    return None if _EMPTY.fullmatch(text) else Extra(_LEVEL, text)


def has_technical(note: Note, names: Collection[str]) -> bool:
    """Whether a note has one of these technical signs, whoever set it."""
    return any(mark.family == "technical" and mark.name in names for mark in note.marks)


def with_technical(note: Note, mark: Mark, own: str) -> Note:
    """Return the note with a technical sign of ours; articulations stay behind it, as written."""
    before = tuple(one for one in note.marks if one.family != "articulations")
    after = note.marks[len(before) :]
    return with_own(replace(note, marks=(*before, mark, *after)), own_signs(note) | {own})


def without_technical(part: Part, own: str, names: Collection[str]) -> Part:
    """Return the part without the technical signs that we set under a name."""

    def bare(note: Note) -> Note:
        if own not in own_signs(note):
            return note
        marks = tuple(
            mark for mark in note.marks if mark.family != "technical" or mark.name not in names
        )
        return with_own(replace(note, marks=marks), own_signs(note) - {own})

    return _changed(part, own, bare)


def without_text(part: Part, own: str, clear: Callable[[Note], Note]) -> Part:
    """Return the part with ``clear`` done to every note that carries a mark of ours."""

    def bare(note: Note) -> Note:
        if own not in own_signs(note):
            return note
        return with_own(clear(note), own_signs(note) - {own})

    return _changed(part, own, bare)


def without_own_fingering(part: Part) -> Part:
    """Return the part without the places and fingers that we chose and nobody has changed."""

    def bare(note: Note) -> Note:
        own = own_signs(note)
        if not own & {PLACE, _FINGERING}:
            return note
        finger = "" if _FINGERING in own else note.finger
        place = None if PLACE in own else note.place
        return with_own(replace(note, place=place, finger=finger), own - {PLACE, _FINGERING})

    return map_notes(part, bare)


def _changed(part: Part, own: str, bare: Callable[[Note], Note]) -> Part:
    carried = any(own in own_signs(note) for note in notes(part) if note.extras)
    return map_notes(part, bare) if carried else part
