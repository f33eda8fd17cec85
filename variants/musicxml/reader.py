"""From a MusicXML file to a `Score`."""

from __future__ import annotations

import re
from dataclasses import replace
from math import lcm
from pathlib import Path
from typing import Any

from lxml import etree

from variants.errors import InputError, NeckwiseError
from variants.limits import LIMITS, FileLimits
from variants.musicxml.fretted import find_instrument
from variants.musicxml.header import carried_score_part, line_of, read_header
from variants.musicxml.measure_reader import PartReader
from variants.musicxml.numerals import decimal, shown, whole
from variants.musicxml.octave import Reading, settle_octaves
from variants.musicxml.part_list import list_parts
from variants.musicxml.repair import repair_score_part
from variants.musicxml.source import load, parse_text, unpacked
from variants.musicxml.tab_merge import merge_tab
from variants.score import Change, Measure, Part, Score

# Every score gets at least this many ticks in a quarter, so that steps can halve and divide in
# three without asking: 48 holds 64th notes and triplets of 16ths.
BASE_TICKS = 48
# A decimal duration, looked for in the bytes: looking through the tree takes longer.
_DECIMAL_DURATION = re.compile(rb"<duration[^>]*>[^<.]*\.")
_UTF_16 = (b"\xff\xfe", b"\xfe\xff", b"<\0", b"\0<")


def read(
    path: str | Path, *, reading: Reading | str = Reading.AUTO, limits: FileLimits = LIMITS
) -> Score:
    """Read a MusicXML file, compressed or not.

    Args:
        path: The file.
        reading: How a plain treble clef sounds; see `variants.musicxml.octave`.
        limits: Bounds on what the file may cost.

    Raises:
        InputError: It cannot be read; the message begins with the file.
    """
    data = load(path, limits)
    try:
        return read_bytes(data, reading=reading, limits=limits)
    except NeckwiseError as error:
        raise error.at(Path(path).name) from None


def read_bytes(
    data: bytes, *, reading: Reading | str = Reading.AUTO, limits: FileLimits = LIMITS
) -> Score:
    """Read MusicXML from memory; see `read`.

    Raises:
        InputError: It cannot be read.
    """
    return settle_octaves(read_raw(data, limits=limits), Reading.parse(reading))


def read_raw(data: bytes, *, limits: FileLimits = LIMITS, merge: bool = True) -> Score:
    """Read what the file says and nothing more: octaves that it leaves open stay as written.

    Args:
        data: The file, compressed or not.
        limits: Bounds on what it may cost.
        merge: Read a tab that doubles a notation as one music with it.

    Raises:
        InputError: It cannot be read.
    """
    data = unpacked(data, limits)
    root = parse_text(data, limits)
    root = partwise(root)
    ticks = _ticks(root, data, limits)
    left = limits.notes
    parts: list[Part] = []
    changes: list[Change] = []

    def log(line: str) -> None:
        changes.append(Change(line, "read"))

    score = read_header(root, ticks, log)
    listed = list_parts(root, limits, log)
    taken: set[str] = {one.id for one in listed}
    for one in listed:
        reader = PartReader(ticks, one.id, left)
        measures = tuple(map(reader.measure, one.measures))
        left = reader.notes_left
        reader.number = ""
        repair_score_part(one.stated, taken, reader.log)
        parts.append(_part(one.id, measures, one.stated, reader))
        changes += reader.changes
    whole_score = replace(score, parts=tuple(parts), changes=tuple(changes))
    return merge_tab(whole_score) if merge else whole_score


def partwise(root: etree._Element) -> etree._Element:
    """Return a tree as parts of measures; a timewise one is turned around in place."""
    if root.tag != "score-timewise":
        return root
    parts: dict[str, etree._Element] = {}
    for measure in root.findall("measure"):
        for piece in measure.findall("part"):
            name = piece.get("id", "")
            if name not in parts:
                parts[name] = etree.SubElement(root, "part", id=name)
            piece.attrib.pop("id", "")
            for key, value in measure.attrib.items():
                piece.set(key, value)
            piece.tag = "measure"
            parts[name].append(piece)
    return root


def _ticks(root: etree._Element, data: bytes, limits: FileLimits) -> int:
    """Return the least common multiple of all divisions and of `BASE_TICKS`."""
    ticks = BASE_TICKS
    for text in {element.text for element in root.iter("divisions")}:
        value = decimal(text)
        if value is None or value <= 0:
            raise InputError(f"<divisions> is {shown(text)}", way_out="export the score again")
        ticks = lcm(ticks, value.numerator)
    if _DECIMAL_DURATION.search(data) or data[:2] in _UTF_16:
        ticks = _with_split_divisions(root, ticks)
    if ticks > limits.ticks:
        raise InputError("its <divisions> have no common measure", way_out="export the score again")
    return ticks


def _with_split_divisions(root: etree._Element, ticks: int) -> int:
    # The standard allows decimals in durations; each needs ticks that make it whole.
    found: Any = root.xpath("//duration[contains(., '.')]/text()")
    for text in {str(one).strip() for one in found}:
        # What is no number is reported by the measure reader, with its measure.
        value = decimal(text)
        ticks = lcm(ticks, value.denominator * BASE_TICKS) if value else ticks
    return ticks


def _part(
    name: str, measures: tuple[Measure, ...], element: etree._Element, reader: PartReader
) -> Part:
    program = element.findtext("midi-instrument/midi-program")
    part = Part(
        name,
        line_of(element.findtext("part-name")),
        measures,
        None,
        reader.staves,
        line_of(element.findtext("part-abbreviation")),
        midi_program=whole(program, "<midi-program>") if program else 0,
        carried=tuple(carried_score_part(element, reader.log)),
    )
    return replace(part, instrument=find_instrument(part))
