"""Writes the notes of one event as XML text.

Text is put together directly: building a tree only to serialise it doubles the time of a whole
run. What is written is checked against the schema in the tests, on every file of the corpus.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from xml.sax.saxutils import escape, quoteattr

from variants.errors import OutputError
from variants.music import Interval, NoteValue, Pitch
from variants.musicxml.xml_text import quoted
from variants.score import Event, Extra, Lyric, Mark, Note

# Accidentals by alteration in quarter tones.
_ACCIDENTALS = {
    -6: "triple-flat",
    -4: "flat-flat",
    -3: "three-quarters-flat",
    -2: "flat",
    -1: "quarter-flat",
    0: "natural",
    1: "quarter-sharp",
    2: "sharp",
    3: "three-quarters-sharp",
    4: "double-sharp",
    6: "triple-sharp",
}
_GROUPS = ("ornaments", "technical", "articulations")
# Children of ``note`` that are only carried, by their place in the standard's order.
_AFTER_TIE = ("instrument", "footnote", "level")
_AFTER_STEM = ("notehead", "notehead-text")
_BEAMS = ("beam",)
_AFTER_LYRICS = ("play", "listen")
# Children of ``notations`` that come before all others.
_EDITORIAL = ("footnote", "level")
_STROKES = ("up-bow", "down-bow")
_COURTESY = ("cautionary", "editorial", "parentheses", "bracket")


@dataclass(frozen=True, slots=True)
class NoteStyle:
    """What of a note is written on one staff.

    Args:
        staff: Staff number to write; 0 for the event's own, -1 for none.
        shift: Sounding to written, by staff; empty when they are the same.
        places: Write string and fret.
        fingers: Write fretting and plucking fingers.
        marks: Write slurs, articulations and the like, and lyrics.
        stems: Write stems and beams; else the stems are written as absent.
    """

    staff: int = -1
    shift: tuple[tuple[int, Interval], ...] = ()
    places: bool = True
    fingers: bool = True
    marks: bool = True
    stems: bool = True

    def written(self, pitch: Pitch, staff: int) -> Pitch:
        """Return the written pitch of a sounding one on a staff."""
        if not self.shift:
            return pitch
        table = dict(self.shift)
        interval = table.get(staff, table.get(0))
        return pitch + interval if interval else pitch


@lru_cache(maxsize=4096)
def pitch_xml(pitch: Pitch) -> str:
    """Return a ``pitch`` element.

    Raises:
        OutputError: MusicXML does not have the octave.
    """
    if not 0 <= pitch.octave <= 9:
        raise OutputError(
            f"{pitch} cannot be written: MusicXML has the octaves 0 to 9",
            way_out="move the music by an octave",
        )
    alter = ""
    if pitch.alter:
        number = pitch.alter if pitch.alter == int(pitch.alter) else float(pitch.alter)
        alter = f"<alter>{number}</alter>"
    return f"<pitch><step>{pitch.letter}</step>{alter}<octave>{pitch.octave}</octave></pitch>"


@lru_cache(maxsize=1024)
def _value_xml(value: NoteValue) -> tuple[str, str]:
    """Return type with dots, and time modification."""
    kind = f"<type>{value.type}</type>" if value.type else ""
    modification = ""
    if value.actual != value.normal or value.normal_type:
        of = ""
        if value.normal_type:
            of = f"<normal-type>{value.normal_type}</normal-type>" + (
                "<normal-dot/>" * value.normal_dots
            )
        modification = (
            f"<time-modification><actual-notes>{value.actual}</actual-notes>"
            f"<normal-notes>{value.normal}</normal-notes>{of}</time-modification>"
        )
    return kind + "<dot/>" * value.dots, modification


@lru_cache(maxsize=256)
def _accidental_xml(alter: object, shown: str, glyph: str, looks: str) -> str:
    name = glyph or _ACCIDENTALS.get(int(alter * 2))  # type: ignore[operator]
    if not name:
        return ""
    courtesy = f' {shown}="yes"' if shown in _COURTESY else ""
    return f"<accidental{courtesy}{looks}>{escape(name)}</accidental>"


@lru_cache(maxsize=256)
def _beams_xml(beams: tuple[str, ...]) -> str:
    return "".join(
        f'<beam number="{number}">{escape(value)}</beam>' for number, value in enumerate(beams, 1)
    )


def event_xml(
    event: Event,
    voice: str,
    style: NoteStyle,
    accidentals: tuple[bool, ...] | None = None,
    *,
    below: tuple[bool, ...] = (),
) -> str:
    """Return the ``note`` elements of an event, one a line.

    Args:
        event: The event.
        voice: Voice to write.
        style: What to write.
        accidentals: For each note whether its accidental must be printed.
        below: For each note whether its fingers stand below; empty where readers may choose.
    """
    if not event.notes:
        return _rest_xml(event, voice, style)
    kind, modification = _value_xml(event.value)
    head = _head_xml(event) if event.grace is not None or event.is_cue else ""
    duration = f"<duration>{event.duration}</duration>" if event.grace is None else ""
    stem = _stem_xml(event, style)
    lines = []
    spoken = f"<voice>{voice}</voice>"
    for index, note in enumerate(event.notes):
        first, extras, tied, sign = index == 0, note.extras, "", ""
        staff = note.staff or event.staff
        pitch = note.pitch
        if style.shift and pitch is not None:
            pitch = style.written(pitch, staff)
        if note.tie_stop or note.tie_start:
            tied = "" if event.is_cue else _tie_xml(note)
        if note.accidental or (accidentals is not None and accidentals[index]):
            sign = _sign_xml(note, pitch)
        what = _what_xml(note) if pitch is None else pitch_xml(pitch)
        lines.append(
            f"{_open_xml(extras) if extras else '      <note>'}{head}{'' if first else '<chord/>'}"
            f"{what}{duration}{tied}{_after_tie_xml(extras, style) if extras else ''}"
            f"{spoken}{_sized(kind, extras) if extras else kind}{sign}{modification}{stem}"
            f"{_extras_xml(extras, _AFTER_STEM) if extras else ''}"
            f"{'' if style.staff < 0 else _staff_xml(style, staff)}"
            f"{_beams_xml(event.beams) if event.beams and first and style.stems else ''}"
            f"{_extras_xml(extras, _BEAMS) if extras and style.stems else ''}"
            f"{_notations_xml(event, note, style, below[index : index + 1], first=first)}"
            f"{_lyrics_xml(event.lyrics) if first and event.lyrics and style.marks else ''}"
            f"{_extras_xml(extras, _AFTER_LYRICS) if extras else ''}</note>"
        )
    return "\n".join(lines)


def _rest_xml(event: Event, voice: str, style: NoteStyle) -> str:
    kind, modification = _value_xml(event.value)
    shown = _extras_xml(event.extras, ("rest",))
    if not shown:
        shown = '<rest measure="yes"/>' if event.is_measure_rest else "<rest/>"
    return "".join(
        (
            _open_xml(event.extras),
            _head_xml(event),
            shown,
            f"<duration>{event.duration}</duration>" if event.grace is None else "",
            _extras_xml(event.extras, _AFTER_TIE),
            f"<voice>{voice}</voice>",
            _sized(kind, event.extras),
            modification,
            _extras_xml(event.extras, _AFTER_STEM),
            _staff_xml(style, event.staff),
            _beams_xml(event.beams) if event.beams and style.stems else "",
            _marks_xml(event.marks, "", style) if event.marks else "",
            _lyrics_xml(event.lyrics) if event.lyrics and style.marks else "",
            _extras_xml(event.extras, _AFTER_LYRICS),
            "</note>",
        )
    )


def _sized(kind: str, extras: tuple[Extra, ...]) -> str:
    size = next((extra.xml for extra in extras if extra.name == "type"), "")
    return kind.replace("<type>", f'<type size="{size}">', 1) if size else kind


def _open_xml(extras: tuple[Extra, ...]) -> str:
    if not extras:
        return "      <note>"
    found = sorted((e.name[1:], e.xml) for e in extras if e.name.startswith("@"))
    return "      <note" + "".join(f" {name}={quoteattr(value)}" for name, value in found) + ">"


def _head_xml(event: Event) -> str:
    grace = ""
    if event.grace is not None:
        attributes = "".join(f" {name}={quoteattr(value)}" for name, value in event.grace)
        grace = f"<grace{attributes}/>"
    return grace + ("<cue/>" if event.is_cue else "")


def _what_xml(note: Note) -> str:
    return _extras_xml(note.extras, ("unpitched",)) or "<unpitched/>"


def _tie_xml(note: Note) -> str:
    return ('<tie type="stop"/>' if note.tie_stop else "") + (
        '<tie type="start"/>' if note.tie_start else ""
    )


def _sign_xml(note: Note, written: Pitch | None) -> str:
    if written is None:
        return ""
    if not note.extras:
        return _accidental_xml(written.alter, note.accidental, "", "")
    held = {extra.name: extra.xml for extra in note.extras}
    looks = held.get("accidental-looks", "") if note.accidental else ""
    return _accidental_xml(written.alter, note.accidental, held.get("accidental", ""), looks)


def _stem_xml(event: Event, style: NoteStyle) -> str:
    if not style.stems:
        return "<stem>none</stem>"
    return f"<stem>{event.stem}</stem>" if event.stem else ""


def _staff_xml(style: NoteStyle, staff: int) -> str:
    if style.staff < 0:
        return ""
    return f"<staff>{style.staff or staff}</staff>"


def _after_tie_xml(extras: tuple[Extra, ...], style: NoteStyle) -> str:
    # Who a sign is from is said beside the sign, not on a tab staff that only doubles the note.
    return _extras_xml(extras, _AFTER_TIE if style.marks else ("instrument",))


def _extras_xml(extras: tuple[Extra, ...], names: tuple[str, ...]) -> str:
    return "".join(extra.xml for name in names for extra in extras if extra.name == name)


def _notations_xml(
    event: Event, note: Note, style: NoteStyle, below: tuple[bool, ...], *, first: bool
) -> str:
    tied = technical = ""
    if note.tie_stop or note.tie_start:
        tied = ('<tied type="stop"/>' if note.tie_stop else "") + (
            '<tied type="start"/>' if note.tie_start else ""
        )
    if style.fingers and (note.finger or note.pluck):
        side = "".join(f' placement="{"below" if one else "above"}"' for one in below)
        for name, text in (("fingering", note.finger), ("pluck", note.pluck)):
            technical += f"<{name}{side}>{escape(text)}</{name}>" if text else ""
    if style.places and note.place is not None:
        technical += f"<string>{note.place.string}</string><fret>{note.place.fret}</fret>"
    marks: tuple[Mark, ...] = note.marks
    if marks and (style.places or not style.marks):
        marks = tuple(mark for mark in marks if not _is_on_other_staff(mark, note, style))
    if first and event.marks:
        marks = (*event.marks, *marks)
    if not (tied or technical or marks):
        return ""
    return _marks_xml(marks, technical, style, tied)


def _is_on_other_staff(mark: Mark, note: Note, style: NoteStyle) -> bool:
    """Whether a sign is not for this staff: strokes and circled strings on a doubling tab."""
    if mark.name in ("string", "fret"):
        return not style.marks or (style.places and note.place is not None)
    return not style.marks and mark.name in _STROKES


def _marks_xml(marks: Iterable[Mark], technical: str, style: NoteStyle, tied: str = "") -> str:
    plain, notes = tied, ""
    groups = {"technical": technical} if technical else {}
    for mark in marks:
        if not style.marks and mark.family not in ("technical", "slide", "glissando", "tuplet"):
            continue
        if mark.name == "accidental-mark" and "ornaments" not in groups:
            # A step took its ornament away; beside the note it may still stand.
            plain += mark.xml
        elif mark.family in _GROUPS:
            groups[mark.family] = groups.get(mark.family, "") + mark.xml
        elif mark.family in _EDITORIAL:
            notes += mark.xml
        else:
            plain += mark.xml
    for family in _GROUPS:
        if family in groups:
            plain += f"<{family}>{groups[family]}</{family}>"
    return f"<notations>{notes}{plain}</notations>" if plain or notes else ""


def _lyrics_xml(lyrics: tuple[Lyric, ...]) -> str:
    return "".join(
        "<lyric"
        + (f" name={quoted(lyric.name)}" if lyric.name else "")
        + (f" number={quoted(lyric.number)}" if lyric.number else "")
        + f"{lyric.looks}>{lyric.xml}</lyric>"
        for lyric in lyrics
    )
