"""The smallest scores that hold one element of the standard, made from the W3C schema itself.

For each child of ``note``, ``notations``, ``technical`` and so on: a score that is valid, that has
the element once at a known place, in a plain form or with every attribute that it may have.
"""

from __future__ import annotations

from functools import cache

from lxml import etree

from tests.xsd import schema_path

_XS = "{http://www.w3.org/2001/XMLSchema}"
# The lists of elements that the documentation has a row for, by the type that holds them.
PARENTS = (
    "note",
    "notations",
    "technical",
    "articulations",
    "ornaments",
    "direction-type",
    "attributes",
    "harmony",
    "barline",
)
# One text for each simple type that is no list of values.
_TEXTS = {
    "xs:positiveInteger": "1",
    "xs:nonNegativeInteger": "1",
    "xs:decimal": "1",
    "xs:IDREF": "P1-I1",
    "xs:ID": "x1",
    "color": "#FF0000",
    "ending-number": "1",
    "font-size": "12",
    "trill-beats": "4",
    "midi-128": "1",
    "midi-16": "1",
    "midi-16384": "1",
    "smufl-accidental-glyph-name": "accidentalSharp",
    "smufl-coda-glyph-name": "codaSquare",
    "smufl-lyrics-glyph-name": "lyricsElision",
    "smufl-pictogram-glyph-name": "pictGlsp",
    "smufl-segno-glyph-name": "segnoSerpent1",
    "smufl-wavy-line-glyph-name": "wiggleTrill",
    "number-or-normal": "1",
    "positive-integer-or-empty": "1",
    "tremolo-marks": "3",
    "time-only": "1",
    "step": "C",
    "mode": "major",
    "xlink:type": "simple",
    "xlink:show": "new",
    "xlink:actuate": "onRequest",
    "xml:lang": "en",
    "xml:space": "preserve",
    "beam-level": "2",
    "number-level": "2",
    "number-of-lines": "2",
    "staff-number": "1",
    "staff-line": "2",
    "octave": "4",
    "semitones": "1",
    "fifths": "1",
}
# Texts that belong to an element rather than to its type.
_OWN_TEXTS = {
    "actual-notes": "3",
    "normal-notes": "2",
    "beats": "4",
    "beat-type": "4",
    "accidental": "natural",
}
# Attributes that are not given: places on the page, and the element's own name.
NOT_CARRIED = frozenset(
    {"default-x", "default-y", "relative-x", "relative-y", "id", "bezier-x", "bezier-y",
     "bezier-x2", "bezier-y2", "bezier-offset", "bezier-offset2", "xml:space"}
)  # fmt: skip


@cache
def _schema() -> tuple[dict[str, etree._Element], ...]:
    root = etree.parse(str(schema_path())).getroot()
    return tuple(
        {str(one.get("name")): one for one in root.findall(f"{_XS}{tag}")}
        for tag in ("complexType", "simpleType", "group", "attributeGroup")
    )


@cache
def children_of(parent: str) -> tuple[str, ...]:
    """Return the names of all elements that a type of the schema holds, in its order."""
    return tuple(dict.fromkeys(name for name, _ in _children(_schema()[0][parent])))


def _children(holder: etree._Element) -> list[tuple[str, str]]:
    found: list[tuple[str, str]] = []
    for one in holder:
        if one.tag == f"{_XS}element":
            found.append((str(one.get("name")), str(one.get("type"))))
        elif one.tag == f"{_XS}group":
            found += _children(_schema()[2][str(one.get("ref"))])
        elif one.tag in (f"{_XS}sequence", f"{_XS}choice"):
            found += _children(one)
    return found


def sample(parent: str, name: str, *, full: bool = False) -> etree._Element:
    """Return one element as it may stand in a parent.

    Args:
        parent: Type of the schema that holds it.
        name: Its name.
        full: Give it every attribute that it may have.
    """
    holder = _schema()[0][parent]
    kind = dict(_children(holder))[name]
    local = next(
        (one for one in holder.iter(f"{_XS}element") if one.get("name") == name and len(one)), None
    )
    element = etree.Element(name)
    if kind == "None" and local is not None:
        kind_element = local.find(f"{_XS}complexType")
        assert kind_element is not None
        _fill(element, kind_element, full=full)
    else:
        _fill_named(element, kind, full=full)
    element.text = _OWN_TEXTS.get(name, element.text)
    return element


def _fill_named(element: etree._Element, kind: str, *, full: bool) -> None:
    if kind in _schema()[0]:
        _fill(element, _schema()[0][kind], full=full)
    else:
        element.text = _text(kind)


def _fill(element: etree._Element, holder: etree._Element, *, full: bool) -> None:
    for one in holder:
        tag = str(one.tag).removeprefix(_XS)
        if tag in ("simpleContent", "complexContent"):
            base = str(one[0].get("base"))
            if base in _schema()[0]:
                _fill(element, _schema()[0][base], full=full)
            elif tag == "simpleContent":
                element.text = _text(base)
            _fill(element, one[0], full=full)
        elif tag == "attributeGroup":
            _fill(element, _schema()[3][str(one.get("ref"))], full=full)
        elif tag == "attribute":
            name = str(one.get("name") or one.get("ref"))
            must = one.get("use") == "required"
            if must or (full and name not in NOT_CARRIED):
                element.set(_expanded(name), _text(str(one.get("type") or name)))
        elif tag in ("sequence", "choice", "group"):
            _content(element, one, full=full)


def _content(element: etree._Element, one: etree._Element, *, full: bool) -> None:
    if one.get("minOccurs") == "0":
        return
    tag = str(one.tag).removeprefix(_XS)
    if tag == "element":
        child = etree.SubElement(element, str(one.get("name")))
        _fill_named(child, str(one.get("type")), full=full)
        child.text = _OWN_TEXTS.get(str(child.tag), child.text)
    elif tag == "group":
        for piece in _schema()[2][str(one.get("ref"))]:
            if piece.tag != f"{_XS}annotation":
                _content(element, piece, full=full)
    elif tag in ("sequence", "choice"):
        pieces = [piece for piece in one if piece.tag != f"{_XS}annotation"]
        for piece in pieces[:1] if tag == "choice" else pieces:
            _content(element, piece, full=full)


def _expanded(name: str) -> str:
    addresses = {
        "xlink": "http://www.w3.org/1999/xlink",
        "xml": "http://www.w3.org/XML/1998/namespace",
    }
    prefix, _, local = name.rpartition(":")
    return f"{{{addresses[prefix]}}}{local}" if prefix else name


def _text(kind: str) -> str:
    if kind in _TEXTS:
        return _TEXTS[kind]
    found = _schema()[1].get(kind)
    if found is None:
        return "x"
    value = found.find(f".//{_XS}enumeration")
    if value is not None:
        return str(value.get("value"))
    restriction = found.find(f"{_XS}restriction")
    if restriction is None:
        union = found.find(f"{_XS}union")
        assert union is not None, kind
        return _text((union.get("memberTypes") or "xs:string").split()[0])
    return _text(str(restriction.get("base")))


# -- whole scores ----------------------------------------------------------------------------

_HEAD = (
    '<score-partwise version="4.0"><part-list><score-part id="P1"><part-name>Guitar</part-name>'
    '<score-instrument id="P1-I1"><instrument-name>Guitar</instrument-name></score-instrument>'
    '</score-part></part-list><part id="P1"><measure number="1"><attributes><divisions>4'
    "</divisions><key><fifths>1</fifths></key><time><beats>4</beats><beat-type>4</beat-type></time>"
    "<clef><sign>G</sign><line>2</line><clef-octave-change>-1</clef-octave-change></clef>"
    "</attributes>"
)
_TAIL = "</measure></part></score-partwise>"
_NOTE = (
    "<note><pitch><step>{step}</step><octave>4</octave></pitch><duration>4</duration>"
    "<voice>1</voice><type>quarter</type></note>"
)
# Notes that differ, so that a thing on the wrong one is seen.
_FIRST, _THIRD, _LAST = (_NOTE.format(step=step) for step in "CEF")
# The least that a note needs beside one child of it.
_NOTE_WITH = {
    "grace": "<grace/><pitch><step>D</step><octave>4</octave></pitch>",
    "cue": "<cue/><pitch><step>D</step><octave>4</octave></pitch><duration>4</duration>",
    "chord": "<chord/><pitch><step>D</step><octave>4</octave></pitch><duration>4</duration>",
    "rest": "<rest/><duration>4</duration>",
    "unpitched": "<unpitched/><duration>4</duration>",
}
_PLAIN = "<pitch><step>D</step><octave>4</octave></pitch><duration>4</duration>"


def score_with(parent: str, name: str, *, full: bool = False) -> bytes:
    """Return a valid score of one measure in which an element stands once, on the second beat.

    Args:
        parent: Type of the schema that holds it: one of `PARENTS`.
        name: The element.
        full: Give it every attribute that it may have.
    """
    element = sample(parent, name, full=full)
    if parent == "note":
        inside = _note_with(name, element)
    elif parent == "notations":
        inside = _note_with("notations", _held("notations", element))
    elif parent in ("technical", "articulations", "ornaments"):
        group = _held(parent, element)
        if (parent, name) == ("ornaments", "accidental-mark"):
            group.insert(0, etree.Element("trill-mark"))
        inside = _note_with("notations", _held("notations", group))
    elif parent == "direction-type":
        inside = _xml(_held("direction", _held("direction-type", element))) + _second()
    elif parent == "attributes":
        inside = _xml(_held("attributes", element)) + _second()
    elif parent == "harmony":
        inside = _harmony_with(name, element) + _second()
    else:
        inside = _second()
    barline = _xml(_held("barline", element)) if parent == "barline" else ""
    return (_HEAD + _FIRST + inside + _THIRD + _LAST + barline + _TAIL).encode()


def _held(name: str, element: etree._Element) -> etree._Element:
    holder = etree.Element(name)
    holder.append(element)
    return holder


def _xml(element: etree._Element) -> str:
    return etree.tostring(element, encoding="unicode")


def _second() -> str:
    return _NOTE.format(step="D")


def _note_with(name: str, element: etree._Element) -> str:
    note = etree.fromstring(f"<note>{_NOTE_WITH.get(name, _PLAIN)}</note>")
    found = note.find(name)
    if found is not None:
        note.replace(found, element)
        if name == "pitch":
            element[0].text = "D"
    else:
        order = children_of("note")
        # The schema has ties before the duration for grace notes, after it for the others.
        after = "duration" if name == "tie" else name
        place = sum(order.index(str(child.tag)) <= order.index(after) for child in note)
        note.insert(place, element)
    # A grace note is followed by the note that it graces, a chord by nothing of its own.
    after = _second() if name == "grace" else ""
    return _xml(note) + after


def _harmony_with(name: str, element: etree._Element) -> str:
    harmony = etree.fromstring(
        "<harmony><root><root-step>D</root-step></root><kind>minor</kind></harmony>"
    )
    order = children_of("harmony")
    if name in ("numeral", "function"):
        harmony.replace(harmony[0], element)
    elif name in ("root", "kind"):
        harmony.replace(harmony[order.index(name) and 1], element)
    else:
        place = sum(order.index(str(child.tag)) < order.index(name) for child in harmony)
        harmony.insert(place, element)
    return _xml(harmony)
