"""Counts all that stands in a MusicXML file, each thing with its place, from the XML alone.

It shares no code with the reader: two files are compared by what their elements say. A thing is a
`Fact`: part, measure, moment in quarters, the note that it belongs to, the path of the element and
what it holds. Left aside is only what a program lays out anew or what is another way to say the
same: places on the page, ids, numbers of voices, divisions, the octave that a plain treble clef
leaves open.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from lxml import etree

_PAGE = frozenset(
    {"default-x", "default-y", "relative-x", "relative-y", "id", "width", "bezier-x", "bezier-y",
     "bezier-x2", "bezier-y2", "bezier-offset", "bezier-offset2"}
)  # fmt: skip
_GROUPS = frozenset({"technical", "articulations", "ornaments"})
# Read by other facts, or not a thing of their own.
_NO_FACT = frozenset({"chord", "voice", "staff", "tie", "tied", "duration", "pitch", "grace",
                      "cue", "notations", "dot"})  # fmt: skip
_FINGERS = frozenset({"fingering", "pluck", "string", "fret"})
_OF_FIRST = frozenset({"stem", "beam", "type", "time-modification"})


@dataclass(frozen=True, slots=True, order=True)
class Fact:
    """One thing that a file says.

    Args:
        part: Index of the part, -1 for the header.
        measure: Index of the measure, -1 for the declaration of the part.
        onset: Quarters from the start of the measure.
        owner: The note that it belongs to: step and alteration, ``rest``, ``unpitched``; empty.
        path: Names of the elements down to this one.
        text: What it holds: text, attributes and children.
    """

    part: int
    measure: int
    onset: Fraction
    owner: str
    path: str
    text: str


def census(data: bytes) -> Counter[Fact]:
    """Return all that a partwise or timewise file says, each thing as often as it says it."""
    parser = etree.XMLParser(
        remove_blank_text=True, remove_comments=True, remove_pis=True, load_dtd=False,
        resolve_entities=False, no_network=True,
    )  # fmt: skip
    root = etree.fromstring(data, parser)
    facts: Counter[Fact] = Counter(_header(root))
    for index, measures in enumerate(_parts(root)):
        counter = _PartCensus(index)
        for number, measure in enumerate(measures):
            facts.update(counter.measure(number, measure))
    return facts


def _parts(root: etree._Element) -> list[list[etree._Element]]:
    if root.tag != "score-timewise":
        return [part.findall("measure") for part in root.findall("part")]
    found: dict[str, list[etree._Element]] = {}
    for measure in root.findall("measure"):
        for piece in measure.findall("part"):
            found.setdefault(piece.get("id", ""), []).append(piece)
    return list(found.values())


def _header(root: etree._Element) -> Iterator[Fact]:
    for element in root:
        if element.tag in ("part", "measure", "part-list"):
            continue
        held = element if element.tag in ("work", "identification") else [element]
        for child in held:
            if child.tag != "encoding" and ((child.text or "").strip() or len(child)):
                yield Fact(-1, -1, Fraction(0), "", str(child.tag), told(child, keep_page=True))
    for index, declared in enumerate(root.findall("part-list/score-part")):
        for child in declared:
            is_name = child.tag in ("part-name", "part-abbreviation")
            if is_name and not (child.text or "").strip():
                continue
            yield Fact(index, -1, Fraction(0), "", f"score-part/{child.tag}", told(child))


def told(element: etree._Element, *, keep_page: bool = False, scale: Fraction | None = None) -> str:
    """Return what an element holds in one canonical line.

    Args:
        element: The element.
        keep_page: Count places on the page too.
        scale: Divisions of a quarter, by which ``duration`` and ``offset`` are read.
    """
    pairs = sorted(
        (str(key), str(value))
        for key, value in element.items()
        if (keep_page and key != "id") or key not in _PAGE
        # The first staff, the first beam is meant where none is named.
        if not (element.tag in ("clef", "beam") and key == "number" and value == "1")
    )
    attributes = "".join(f" {key}={value}" for key, value in pairs)
    if element.tag == "clef" and element.findtext("sign") == "TAB":
        return f"TAB{attributes}"  # its line follows from the number of strings
    text = " ".join((element.text or "").split())
    if scale and element.tag in ("duration", "offset"):
        text = str(Fraction(text) / scale)
    children = [one for one in element if not (one.tag == "clef-octave-change" and one.text == "0")]
    inside = ",".join(
        f"{child.tag}({told(child, keep_page=keep_page, scale=scale)})" for child in children
    )
    return f"{text}{attributes}{' ' if inside else ''}{inside}".strip()


class _PartCensus:
    """Walks through the measures of one part."""

    def __init__(self, part: int) -> None:
        self.part = part
        self.divisions = Fraction(1)
        self.now = self.last = Fraction(0)
        self.number = 0

    def measure(self, number: int, element: etree._Element) -> Iterator[Fact]:
        self.number = number
        self.now = self.last = Fraction(0)
        for name in ("number", "implicit", "non-controlling", "text"):
            value = element.get(name, "no" if name in ("implicit", "non-controlling") else "")
            yield self._fact(Fraction(0), "", f"measure/@{name}", value)
        for child in element:
            yield from self._child(child)

    def _fact(self, onset: Fraction, owner: str, path: str, text: str) -> Fact:
        return Fact(self.part, self.number, onset, owner, path, text)

    def _quarters(self, element: etree._Element | None) -> Fraction:
        text = "" if element is None else (element.text or "").strip()
        return Fraction(text) / self.divisions if text else Fraction(0)

    def _child(self, child: etree._Element) -> Iterator[Fact]:
        tag = str(child.tag)
        if tag == "note":
            yield from self._note(child)
        elif tag == "backup":
            self.now -= self._quarters(child.find("duration"))
        elif tag == "forward":
            self.now += self._quarters(child.find("duration"))
        elif tag == "attributes":
            found = child.findtext("divisions")
            self.divisions = Fraction(found) if found else self.divisions
            for one in child:
                if one.tag != "divisions":
                    yield self._fact(self.now, "", f"attributes/{one.tag}", told(one))
        elif tag == "barline":
            yield from self._barline(child)
        elif tag in ("direction", "harmony"):
            yield from self._sign(child)
        else:
            scaled = told(child, scale=self.divisions)
            yield self._fact(self.now, "", tag, scaled)

    def _sign(self, element: etree._Element) -> Iterator[Fact]:
        onset = max(Fraction(0), self.now + self._quarters(element.find("offset")))
        for key, value in sorted(element.items()):
            if key not in _PAGE:
                yield self._fact(onset, "", f"{element.tag!s}/@{key!s}", str(value))
        for child in element:
            path = f"{element.tag!s}/{child.tag!s}"
            if child.tag == "direction-type":
                for one in child:
                    yield self._fact(onset, "", f"{path}/{one.tag}", told(one))
            elif child.tag not in ("offset", "voice", "staff"):
                yield self._fact(onset, "", path, told(child, scale=self.divisions))

    def _barline(self, element: etree._Element) -> Iterator[Fact]:
        location = element.get("location", "right")
        onset = self.now if location == "middle" else Fraction(0)
        for key, value in sorted(element.items()):
            if key not in _PAGE and key != "location":
                yield self._fact(onset, location, f"barline/@{key!s}", str(value))
        for child in element:
            yield self._fact(onset, location, f"barline/{child.tag}", told(child))

    def _note(self, note: etree._Element) -> Iterator[Fact]:
        is_chord = note.find("chord") is not None
        grace = note.find("grace") is not None
        length = Fraction(0) if grace else self._quarters(note.find("duration"))
        if not is_chord:
            self.last = self.now
            self.now += length
        onset = self.last
        owner = _owner(note)
        is_cue = note.find("cue") is not None
        kind = ("grace " if grace else "") + ("cue " if is_cue else "")
        yield self._fact(onset, owner, "note", f"{kind}{'' if grace else length}".strip())
        staff = note.findtext("staff")
        if staff and staff.strip() != "1":
            yield self._fact(onset, owner, "note/staff", staff.strip())
        for key, value in sorted(note.items()):
            if key not in _PAGE:
                yield self._fact(onset, owner, f"note/@{key!s}", str(value))
        yield from self._ties(note, onset, owner, is_cue=is_cue)
        dots = len(note.findall("dot"))
        if dots:
            yield self._fact(onset, owner, "note/dot", str(dots))
        grace_element = note.find("grace")
        if grace_element is not None:
            yield self._fact(onset, owner, "note/grace", told(grace_element))
        for child in note:
            if child.tag in _NO_FACT or (is_chord and child.tag in _OF_FIRST):
                continue
            if child.tag == "accidental" and not child.text:
                continue
            lyric = child.tag == "lyric"
            yield self._fact(onset, "" if lyric else owner, f"note/{child.tag}", told(child))
        for notations in note.findall("notations"):
            yield from self._notations(notations, onset, owner)

    def _notations(self, notations: etree._Element, onset: Fraction, owner: str) -> Iterator[Fact]:
        for child in notations:
            if child.tag in _GROUPS:
                for one in child:
                    path = f"notations/{child.tag}/{one.tag}"
                    # On which side a finger stands is laid out anew.
                    text = (one.text or "").strip() if one.tag in _FINGERS else told(one)
                    yield self._fact(onset, owner, path, text)
            elif child.tag != "tied" or child.get("type") not in ("start", "stop"):
                yield self._fact(onset, owner, f"notations/{child.tag}", told(child))

    def _ties(
        self, note: etree._Element, onset: Fraction, owner: str, *, is_cue: bool
    ) -> Iterator[Fact]:
        # A tie is said by its sound, by its picture, or by both; a cue note has the picture alone.
        ends = {one.get("type") for one in note.findall("tie")}
        drawn = {one.get("type") for one in note.findall("notations/tied")}
        for end in ("start", "stop"):
            if end in ends or (end in drawn and (is_cue or not ends)):
                yield self._fact(onset, owner, "note/tie", end)


def _owner(note: etree._Element) -> str:
    pitch = note.find("pitch")
    if pitch is None:
        return "rest" if note.find("rest") is not None else "unpitched"
    alter = Fraction((pitch.findtext("alter") or "0").strip() or "0")
    return f"{(pitch.findtext('step') or '').strip()}{alter or ''}"


def lost(before: Counter[Fact], after: Counter[Fact]) -> list[Fact]:
    """Return what the first file says and the second does not."""
    return sorted((before - after).elements())
