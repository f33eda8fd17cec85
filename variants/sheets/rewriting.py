"""Small changes to the MusicXML that the engraver is given."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator

from lxml import etree

from variants.sheets.signs import bend_text


def blank_out(note: etree._Element) -> None:
    """Turn a note into an unseen rest; a further note of a chord goes altogether."""
    if note.find("chord") is not None:
        remove(note)
        return
    for name in ("pitch", "unpitched"):
        for element in note.findall(name):
            note.replace(element, etree.Element("rest"))
    for name in ("notations", "tie", "accidental", "lyric", "notehead", "stem"):
        for element in note.findall(name):
            note.remove(element)
    note.set("print-object", "no")


def unname(tree: etree._Element) -> None:
    """Take away the name of the only part: it would only push the music to the right."""
    for name in ("part-name", "part-abbreviation"):
        for element in tree.iterfind(f"part-list/score-part/{name}"):
            element.text = ""
    for name in ("part-name-display", "part-abbreviation-display"):
        for element in list(tree.iterfind(f"part-list/score-part/{name}")):
            remove(element)


def remove(element: etree._Element) -> None:
    """Take an element out of its parent."""
    parent = element.getparent()
    if parent is not None:
        parent.remove(element)


def has_tab(part: etree._Element) -> bool:
    """Return whether a part has a tab clef anywhere."""
    signs = part.iterfind("measure/attributes/clef/sign")
    return any(sign.text == "TAB" for sign in signs)


def follow_clefs(measure: etree._Element, tab: set[str]) -> None:
    """Keep account of the staves that are tab, from the clefs of one measure after another."""
    for clef in measure.iterfind("attributes/clef"):
        number = clef.get("number", "1")
        if clef.findtext("sign") == "TAB":
            tab.add(number)
        else:
            tab.discard(number)


def keep_only(group: etree._Element, names: Collection[str]) -> None:
    """Leave only the children with the given names."""
    for child in list(group):
        if child.tag not in names:
            group.remove(child)


def add_tokens(note: etree._Element, tokens: list[tuple[str, str]]) -> None:
    """Hand letters over as if they were fingerings: (placement, text) each."""
    notations = note.find("notations")
    if notations is None:
        return
    technical = notations.find("technical")
    if technical is None:
        technical = etree.SubElement(notations, "technical")
    for placement, text in tokens:
        if text:
            etree.SubElement(technical, "fingering", placement=placement).text = text


def technique_words(sign: etree._Element) -> str:
    """Return the words for a technique that the tab would show, where there is no tab."""
    if sign.get("type") == "stop":
        return ""
    if sign.tag in ("hammer-on", "pull-off"):
        return (sign.text or "").strip() or ("H" if sign.tag == "hammer-on" else "P")
    if sign.tag == "bend":
        return bend_text(float(sign.findtext("bend-alter") or 0))
    return ""


def as_words(child: etree._Element, text: str) -> None:
    """Put words in the place of a direction type."""
    words = etree.Element("words")
    words.text = text
    parent = child.getparent()
    if parent is not None:
        parent.replace(child, words)


def as_bracket(dashes: etree._Element) -> None:
    """Turn dashes, which the engraver does not draw, into a dashed bracket."""
    dashes.tag = "bracket"
    number = int(dashes.get("number", "1"))
    for name in list(dashes.attrib):
        if name != "type":
            del dashes.attrib[name]
    # Numbers 9 to 16, so that brackets of the score keep theirs.
    dashes.set("number", str(number % 8 + 9))
    dashes.set("line-end", "none")
    dashes.set("line-type", "dashed")


def scordatura(element: etree._Element) -> str:
    """Return the words for a change of tuning."""
    strings = [
        f"{accord.get('string')} to {accord.findtext('tuning-step')}"
        + {"-1": "♭", "1": "♯"}.get(accord.findtext("tuning-alter") or "", "")
        for accord in element.findall("accord")
    ]
    return f"tune string {', '.join(strings)}"


def bring_forward(measure: etree._Element) -> None:
    """Put chord symbols that no note follows before the first note, with an offset in time.

    The engraver hangs a chord symbol on the staff of the note after it; without one it takes the
    last staff, or none.
    """
    now = 0
    late: list[tuple[etree._Element, int]] = []
    waiting: list[etree._Element] = []
    for child in measure:
        if child.tag == "harmony":
            waiting.append(child)
        elif child.tag in ("note", "backup", "forward"):
            if child.tag != "note":
                late += [(one, now) for one in waiting]
            waiting = []
            now += _duration(child)
    late += [(one, now) for one in waiting]
    first = measure.find("note")
    if first is None:
        return
    for harmony, at in late:
        offset = harmony.find("offset")
        time = at + int(float(offset.text or 0) if offset is not None else 0)
        if offset is None:
            offset = etree.Element("offset")
            staff = harmony.find("staff")
            if staff is None:
                harmony.append(offset)
            else:
                staff.addprevious(offset)
        offset.text = str(time)
        remove(harmony)
        first.addprevious(harmony)


def _duration(child: etree._Element) -> int:
    """Return by how much the time of a measure moves on past an element."""
    if child.find("chord") is not None:
        return 0
    length = int(child.findtext("duration") or 0)
    return -length if child.tag == "backup" else length


# What ends the engraver's process, or keeps it busy for ever, outside of a range: the range, and
# what goes with it. Found by trying long, huge and odd values in every field.
_RANGES = {
    "staves": (1, 99, "staves"),
    "staff": (1, 99, "staff"),
    "staff-lines": (1, 99, "staff-details"),
    "string": (1, 99, "string"),
    "fret": (0, 99, "fret"),
    "degree-value": (1, 99, "degree"),
    "display-octave": (0, 9, "display-octave"),
    "beat-type": (1, 1024, "time"),
}
_NUMBER = re.compile(r"[+-]?\d{1,9}")
# A tempo that goes on longer is no number that anybody counts.
_LONGEST_TEMPO = 12
# A list of endings that goes on longer is printed as its first number and dots.
_LONGEST_ENDING = 24


def bound(measure: etree._Element) -> Iterator[str]:
    """Take out of a measure what the engraver dies of; yield the name of each thing taken."""
    for element in list(measure.iter("*")):
        name = str(element.tag)
        text = (element.text or "").strip()
        if name in _RANGES:
            low, high, holder = _RANGES[name]
            if not _NUMBER.fullmatch(text) or not low <= int(text) <= high:
                yield _taken(element, holder)
        elif name == "per-minute" and (len(text) > _LONGEST_TEMPO or "e" in text.lower()):
            yield _taken(element, "metronome")
        elif name == "ending" and len(element.get("number", "")) > _LONGEST_ENDING:
            first = element.get("number", "")[:_LONGEST_ENDING].split(",")[0]
            element.set("number", first)
            element.text = f"{first} …"
            yield "list of endings"
        elif name == "repeat":
            # The sign is the same, however often it is played.
            element.attrib.pop("times", "")


def _taken(element: etree._Element, holder: str) -> str:
    """Take away an element, with the one that makes no sense without it; return its name."""
    parent = element.getparent()
    while element.tag != holder and parent is not None:
        element, parent = parent, parent.getparent()
    if parent is not None:
        parent.remove(element)
        for beside in parent.findall("display-step") if holder == "display-octave" else ():
            parent.remove(beside)
    return holder


def rename_parts(tree: etree._Element) -> None:
    """Give the parts short ids: the engraver dies of long ones, and the page shows none."""
    listed = tree.findall("part-list/score-part")
    for number, (head, part) in enumerate(zip(listed, tree.findall("part"), strict=True), 1):
        for element in (head, part):
            element.set("id", f"P{number}")
    for group in tree.findall("part-list/part-group"):
        if group.get("type") not in ("start", "stop"):
            remove(group)
