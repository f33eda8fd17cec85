"""From bytes of another notation to a `Score`: music21 reads them, our reader reads what it writes.

What music21 guesses or drops is said in the change log. Its part names are taken from memory
addresses; they are numbered anew, so that two runs give the same score.
"""

from __future__ import annotations

import contextlib
import io
import re
import warnings
from collections.abc import Iterator
from dataclasses import replace
from pathlib import PurePath
from typing import Any

from lxml import etree

from variants.convert.abc import AbcTune, chosen, dropped, tunes_of
from variants.convert.bounds import abc_lengths, check_lengths, kern_lengths, mei_lengths
from variants.convert.faults import fault_told
from variants.convert.formats import ABC, KERN, MEI, MIDI, NotationFormat
from variants.convert.midi import check_midi, named_by_key
from variants.errors import InputError
from variants.musicxml import LIMITS, FileLimits, read_raw
from variants.musicxml.source import safe_tree
from variants.score import Attributes, Change, Part, Score, Transposition, measures

_MOST_WARNINGS = 5
# "abcFormat: WARNING: text" as music21 prints it.
_WARNING = re.compile(r"^\S*: WARNING: ?", re.MULTILINE)


def read_other(
    data: bytes, kind: NotationFormat, *, name: str, tune: str = "", limits: FileLimits = LIMITS
) -> Score:
    """Return what another notation says, octaves that it leaves open as written.

    Args:
        data: The file.
        kind: Its notation.
        name: The name of the file: for its title and for messages.
        tune: Number of the tune that is meant, in a file that may hold several.
        limits: Bounds on what it may cost.

    Raises:
        InputError: It cannot be read, or holds several tunes and none is named.
    """
    if not data.strip(b"\0\t\r\n "):
        raise InputError("the file is empty", way_out="export or download it again")
    if tune and kind is not ABC:
        raise InputError(f"{kind.name} holds one piece", way_out="leave out the # and the number")
    lines = list(kind.guesses)
    source: str | bytes = data
    if kind is ABC:
        picked = chosen(tunes_of(_text(data)), tune, name=PurePath(name).name)
        source, lines = picked.text, [*lines, *dropped(picked), *_title_lines(picked)]
        check_lengths(abc_lengths(picked.text), limits)
    elif kind is KERN:
        source = _text(data)
        check_lengths(kern_lengths(source), limits)
    elif kind is MIDI:
        check_midi(data, limits)
    elif kind is MEI:
        root = safe_tree(data)
        if not str(root.tag).endswith("}mei"):
            raise InputError("this is no MEI", way_out="export it again as MEI or as MusicXML")
        check_lengths(mei_lengths(root), limits)
        source = _text(data)
    written, more = _as_musicxml(source, kind)
    score = _without_defaults(read_raw(written, limits=limits), name)
    score, lines = _with_pickup(score, lines)
    if kind is MIDI:
        score = named_by_key(score)
    if kind.is_sounding:
        score = replace(score, parts=tuple(map(_sounding, score.parts)))
    said = (f"{kind.name} was read through music21", *lines, *more)
    changes = (*(Change(line, "read") for line in said), *score.changes)
    return replace(score, changes=changes)


def _without_defaults(score: Score, name: str) -> Score:
    """Return a score without the title and composer that music21 supplies where there are none."""
    title = score.movement_title or score.work_title
    if title.startswith("Music21"):
        score = replace(score, movement_title=PurePath(name).stem, work_title="")
    creators = tuple(one for one in score.creators if one[1] != "Music21")
    return replace(score, creators=creators)


def _with_pickup(score: Score, lines: list[str]) -> tuple[Score, list[str]]:
    """Return a score whose first measure is a pick-up where it is short in every part.

    The other notations have no sign for a pick-up, and music21 writes none.
    """
    views = [next(iter(measures(part, score.ticks)), None) for part in score.parts]
    is_single = any(len(part.measures) < 2 for part in score.parts)
    if (
        not views
        or is_single
        or any(
            view is None or not 0 < view.measure.length < view.metre.quarters * score.ticks
            for view in views
        )
    ):
        return score, lines
    parts = tuple(
        replace(part, measures=(replace(part.measures[0], is_implicit=True), *part.measures[1:]))
        for part in score.parts
    )
    said = "the first measure is shorter than its metre and was taken for a pick-up"
    return replace(score, parts=parts), [*lines, said]


def _title_lines(tune: AbcTune) -> list[str]:
    return [] if tune.title else ["the tune has no title"]


def _text(data: bytes) -> str:
    for encoding in ("utf-8-sig", "utf-16" if data[:2] in (b"\xff\xfe", b"\xfe\xff") else "cp1252"):
        try:
            return data.decode(encoding)
        except UnicodeDecodeError:
            continue
    return data.decode("latin-1")


def _as_musicxml(source: str | bytes, kind: NotationFormat) -> tuple[bytes, list[str]]:
    """Return what music21 makes of a text, and what it says about it.

    Raises:
        InputError: It cannot be read; the error names the place where that can be found.
    """
    with _quietly() as said:
        written = _tried(source, kind, said)
        if written is None:
            place, text = fault_told(source, kind, lambda part: _fails(part, kind))
            raise InputError(
                f"what stands here cannot be read as {kind.name} ({text})"
                if text
                else f"it cannot be read as {kind.name}",
                place=place,
                way_out="correct the file, or export the piece as MusicXML",
            )
    return written, said


def _tried(source: str | bytes, kind: NotationFormat, said: list[str]) -> bytes | None:
    """Return what music21 makes of a text; ``None`` where it fails."""
    try:
        return _exported(source, kind, said)
    except (InputError, MemoryError, RecursionError, TimeoutError):
        raise
    # It raises whatever its own code meets: an index, a key, a type.
    except Exception:  # noqa: BLE001
        return None


def _fails(source: str, kind: NotationFormat) -> bool:
    """Return whether a part of a text fails; one without music does not."""
    try:
        return _tried(source, kind, []) is None
    except InputError:
        return False


def _exported(source: str | bytes, kind: NotationFormat, said: list[str]) -> bytes:
    from music21 import converter, stream
    from music21.musicxml import m21ToXml

    found: Any = converter.parseData(source, format=kind.key)
    if isinstance(found, stream.Opus):
        found = next(iter(found.scores))
    if not any(True for _ in found.recurse().notesAndRests):
        raise InputError("there is no music in it", way_out="export or download it again")
    if kind is MIDI:
        _with_key(found, said)
    written: bytes = m21ToXml.GeneralObjectExporter(found).parse()
    return _numbered(written)


@contextlib.contextmanager
def _quietly() -> Iterator[list[str]]:
    """Keep what music21 prints and warns of away from the terminal; the first lines are told."""
    printed = io.StringIO()
    said: list[str] = []
    with (
        warnings.catch_warnings(),
        contextlib.redirect_stderr(printed),
        contextlib.redirect_stdout(printed),
    ):
        warnings.simplefilter("ignore")
        yield said
    lines = [" ".join(_WARNING.sub("", one).split()) for one in printed.getvalue().splitlines()]
    kept = list(dict.fromkeys(one[:120] for one in lines if one))
    said += [f"music21 says: {one}" for one in kept[:_MOST_WARNINGS]]
    if len(kept) > _MOST_WARNINGS:
        said.append(f"music21 says {len(kept) - _MOST_WARNINGS} more things of this kind")


def _with_key(found: Any, said: list[str]) -> None:  # noqa: ANN401 - music21 is not typed
    """Give a stream without a key signature the key that its notes sound like."""
    from music21 import key

    if any(True for _ in found.recurse().getElementsByClass(key.KeySignature)):
        return
    heard = found.analyze("key")
    for part in found.parts:
        measures = list(part.getElementsByClass("Measure"))
        (measures[0] if measures else part).insert(0, key.Key(heard.tonic.name, heard.mode))
    said.append(f"there is no key signature; {heard.name} was guessed from the notes")


def _numbered(written: bytes) -> bytes:
    """Return MusicXML with its parts and instruments numbered in their order."""
    root = etree.fromstring(written, etree.XMLParser(load_dtd=False, no_network=True))
    known: dict[str, str] = {}
    for letter, path in (("P", "part-list/score-part"), ("I", "part-list/*/score-instrument")):
        for number, element in enumerate(root.findall(path), 1):
            known[str(element.get("id"))] = f"{letter}{number}"
    for element in root.iter("score-part", "part", "score-instrument", "midi-instrument",
                             "instrument"):  # fmt: skip
        old = element.get("id")
        if old in known:
            element.set("id", known[old])
    return etree.tostring(root, encoding="utf-8", xml_declaration=True)


def _sounding(part: Part) -> Part:
    """Return a part that says that it sounds as written, so that no octave is assumed."""
    if not part.measures or any(
        change.transpositions for measure in part.measures for change in measure.attributes
    ):
        return part
    first, *rest = part.measures
    attributes = first.attributes or (Attributes(0),)
    stated = replace(attributes[0], transpositions=(Transposition(),))
    first = replace(first, attributes=(stated, *attributes[1:]))
    return replace(part, measures=(first, *rest))
