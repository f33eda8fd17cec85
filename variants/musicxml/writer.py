"""From a `Score` to MusicXML 4.0, the same bytes for the same score."""

from __future__ import annotations

import io
import re
import zipfile
from xml.sax.saxutils import escape, quoteattr

from variants.musicxml.layout import Layout, Staves, layout_of
from variants.musicxml.measure_writer import PartWriter
from variants.musicxml.octave import with_stated_octave
from variants.score import Extra, Part, Score

VERSION = "4.0"
SOFTWARE = "neckwise"
_HEAD = (
    '<?xml version="1.0" encoding="UTF-8"?>\n'
    '<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN" '
    '"http://www.musicxml.org/dtds/partwise.dtd">\n'
    f'<score-partwise version="{VERSION}">'
)
# Children of score-part after the name, in the standard's order.
_PART_ORDER = (
    "identification",
    "part-link",
    "part-name",
    "part-name-display",
    "part-abbreviation",
    "part-abbreviation-display",
    "group",
    "score-instrument",
    "player",
    "midi-device",
    "midi-instrument",
)
# General MIDI level 1, program 25: acoustic guitar (nylon).
GUITAR_PROGRAM = 25
_CONTAINER = (
    '<?xml version="1.0" encoding="UTF-8"?>\n<container><rootfiles>'
    '<rootfile full-path="score.musicxml" media-type="application/vnd.recordare.musicxml+xml"/>'
    "</rootfiles></container>\n"
)
# Zip files carry a time; this is the earliest that they can hold.
_NO_TIME = (1980, 1, 1, 0, 0, 0)


def to_bytes(score: Score, *, staves: Staves | str = Staves.SOURCE, places: bool = False) -> bytes:
    """Return a score as MusicXML 4.0 in UTF-8.

    Args:
        score: The score.
        staves: What to write for fretted parts.
        places: Write string and fret on a notation staff that stands alone.

    Raises:
        UsageError: There is no such layout.
        OutputError: A note lies outside the octaves that MusicXML has.
    """
    wish = Staves.parse(staves)
    layouts = [layout_of(part, wish, places=places) for part in score.parts]
    lines = [_HEAD, *_header(score), "  <part-list>"]
    groups = [extra for extra in score.carried if extra.name.startswith("group:")]
    for index, (part, layout) in enumerate(zip(score.parts, layouts, strict=True)):
        lines += ["    " + extra.xml for extra in groups if extra.name == f"group:{index}"]
        lines.append(_score_part(part, layout))
    after = len(score.parts)
    lines += ["    " + e.xml for e in groups if int(e.name.removeprefix("group:")) >= after]
    lines.append("  </part-list>")
    only = len(score.parts) == 1
    for part, layout in zip(score.parts, layouts, strict=True):
        stated = with_stated_octave(part, only=only) if layout.is_own else part
        lines += PartWriter(score, stated, layout).lines()
    lines.append("</score-partwise>\n")
    return "\n".join(lines).encode("utf-8")


def to_mxl(score: Score, *, staves: Staves | str = Staves.SOURCE, places: bool = False) -> bytes:
    """Return a score as compressed MusicXML (``.mxl``).

    Raises:
        UsageError: There is no such layout.
    """
    return pack(to_bytes(score, staves=staves, places=places))


def pack(data: bytes) -> bytes:
    """Return MusicXML text as compressed MusicXML (``.mxl``)."""
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w") as archive:
        # The standard wants the media type first and stored as it is.
        _add(archive, "mimetype", b"application/vnd.recordare.musicxml", zipfile.ZIP_STORED)
        _add(archive, "META-INF/container.xml", _CONTAINER.encode(), zipfile.ZIP_DEFLATED)
        _add(archive, "score.musicxml", data, zipfile.ZIP_DEFLATED)
    return buffer.getvalue()


def _add(archive: zipfile.ZipFile, name: str, data: bytes, how: int) -> None:
    info = zipfile.ZipInfo(name, _NO_TIME)
    info.compress_type = how
    info.create_system = 3
    archive.writestr(info, data, compresslevel=6)


def _header(score: Score) -> list[str]:
    works = [extra.xml for extra in score.carried if extra.name == "work"]
    title = f"<work-title>{escape(score.work_title)}</work-title>" if score.work_title else ""
    lines = []
    if works or title:
        numbers = [xml for xml in works if xml.startswith("<work-number")]
        rest = [xml for xml in works if not xml.startswith("<work-number")]
        lines.append(f"  <work>{''.join(numbers)}{title}{''.join(rest)}</work>")
    lines += ["  " + _bare(extra) for extra in score.carried if extra.name == "movement-number"]
    if score.movement_title:
        lines.append(f"  <movement-title>{escape(score.movement_title)}</movement-title>")
    lines += ["  <identification>", *_identification(score), "  </identification>"]
    for name in ("defaults", "credit"):
        lines += ["  " + _bare(extra) for extra in score.carried if extra.name == name]
    return lines


def _bare(extra: Extra) -> str:
    return extra.xml.strip()


def _identification(score: Score) -> list[str]:
    lines = []
    for kind, name in score.creators:
        typed = f" type={quoteattr(kind)}" if kind else ""
        lines.append(f"    <creator{typed}>{escape(name)}</creator>")
    for kind, text in score.rights:
        typed = f" type={quoteattr(kind)}" if kind else ""
        lines.append(f"    <rights{typed}>{escape(text)}</rights>")
    # No date: the same score must give the same bytes on every day.
    lines.append(
        f"    <encoding><software>{SOFTWARE}</software>"
        '<supports element="accidental" type="yes"/></encoding>'
    )
    if score.source:
        lines.append(f"    <source>{escape(score.source)}</source>")
    others = [extra.xml for extra in score.carried if extra.name == "identification"]
    lines += ["    " + xml for xml in sorted(others, key=lambda xml: "<misc" in xml[:6])]
    return lines


def _score_part(part: Part, layout: Layout) -> str:
    looks = {extra.name: extra.xml for extra in part.carried if extra.name[0] == "@"}
    children = [
        Extra(name, f"<{name}{looks.get(f'@{name}', '')}>{escape(text)}</{name}>")
        for name, text in (("part-name", part.name), ("part-abbreviation", part.abbreviation))
        if text or name == "part-name"
    ]
    children += [extra for extra in part.carried if extra.name[0] != "@"]
    if not layout.is_own and not any(e.name == "score-instrument" for e in part.carried):
        children += _guitar_sound(part)
    ordered = sorted(children, key=_part_rank)
    inside = "".join(extra.xml for extra in ordered)
    return f"    <score-part id={quoteattr(part.id)}>{inside}</score-part>"


def _part_rank(extra: Extra) -> int:
    # A midi-device belongs to the midi-instrument that follows it, so the two rank alike.
    name = "midi-device" if extra.name == "midi-instrument" else extra.name
    return _PART_ORDER.index(name) if name in _PART_ORDER else len(_PART_ORDER)


def _guitar_sound(part: Part) -> list[Extra]:
    name = re.sub(r"[^A-Za-z0-9_.-]", "-", part.id) or "P"
    label = f"{name}-I1"
    return [
        Extra(
            "score-instrument",
            f"<score-instrument id={quoteattr(label)}>"
            "<instrument-name>Guitar</instrument-name></score-instrument>",
        ),
        Extra(
            "midi-instrument",
            f"<midi-instrument id={quoteattr(label)}>"
            f"<midi-program>{part.midi_program or GUITAR_PROGRAM}</midi-program></midi-instrument>",
        ),
    ]
