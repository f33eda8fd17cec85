"""Marks with two ends: slurs, slides, hammer-ons, lines, tuplet brackets and beams."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

from lxml import etree

from variants.proof.finding import Fix, Flaw, Severity, at_bar, at_head
from variants.proof.page import Head, PagePart, ScannedPage, parts
from variants.proof.registry import Flaws, declare, rule
from variants.proof.views.jumps import is_entered, is_left
from variants.proof.views.spans import End, direction_spans, matched, note_spans
from variants.proof.views.values import group_from

_Ends = Callable[[PagePart], dict[str, list[End]]]
_NOTES = ("leads nowhere", "comes from nowhere")
_TIME = ("ends nowhere", "begins nowhere")
# Rule, severity, name of the mark, elements, where they are found, what a start or stop alone is.
_MARKS: tuple[tuple[str, Severity, str, tuple[str, ...], _Ends, tuple[str, str]], ...] = (
    ("hammer-open", Severity.ERROR, "hammer-on or pull-off", ("hammer-on", "pull-off"), note_spans,
     _NOTES),
    ("slide-open", Severity.ERROR, "slide", ("slide", "glissando"), note_spans, _NOTES),
    ("slur-open", Severity.ERROR, "slur", ("slur",), note_spans, _TIME),
    ("line-open", Severity.WARNING, "wedge, bracket or other line",
     ("wedge", "dashes", "bracket", "octave-shift"), direction_spans, _TIME),
)  # fmt: skip


def _loose_marks(
    page: ScannedPage, *, families: tuple[str, ...], ends: _Ends, loose: tuple[str, str]
) -> Flaws:
    for part in page.parts:
        for family in families:
            for end in matched(ends(part).get(family, ()))[1]:
                yield _loose_mark(end, family, loose)


def _loose_mark(end: End, family: str, loose: tuple[str, str]) -> Flaw:
    start, stop = loose
    # Over a repeat or into an ending a slur may lead.
    jumps = family == "slur" and (is_left(end.bar) if end.is_start else is_entered(end.bar))
    return at_bar(
        end.bar,
        f"the {family} that begins here {start}" if end.is_start
        else f"the {family} that ends here {stop}",
        onset=end.onset, expected=f"both ends of the {family}", element=end.element,
        voice=end.lane[0], severity=Severity.HINT if jumps else None,
    )  # fmt: skip


for _id, _severity, _mark, _families, _ends, _loose in _MARKS:
    declare(
        _id, _severity, f"a {_mark} has no other end",
        partial(_loose_marks, families=_families, ends=_ends, loose=_loose),
    )  # fmt: skip


@rule("tuplet-open", Severity.ERROR, parts)
def tuplet_open(part: PagePart) -> Flaws:
    """A tuplet bracket has no other end."""
    for end in matched(note_spans(part).get("tuplet", ()))[1]:
        if end.head is not None:
            yield at_head(
                end.head,
                "the tuplet that begins here ends nowhere" if end.is_start
                else "the tuplet that ends here begins nowhere",
                expected="both ends of the tuplet", fix=_tuplet_fix(end.head, end),
            )  # fmt: skip


def _tuplet_fix(head: Head, end: End) -> Fix | None:
    """Return the fix that closes a tuplet whose ratio says where it ends."""
    group = group_from(head, forward=end.is_start)
    if not group:
        return None
    note, role = group[-1].element, "stop" if end.is_start else "start"

    def write() -> None:
        notations = note.find("notations")
        if notations is None:
            notations = etree.Element("notations")
            after = ("lyric", "play", "listen")
            note.insert(next((i for i, one in enumerate(note) if one.tag in after), len(note)),
                        notations)  # fmt: skip
        mark = etree.SubElement(notations, "tuplet", type=role)
        if end.element.get("number"):
            mark.set("number", end.number)

    return Fix(f"write the {role} of the tuplet", write)


@rule("beam-open", Severity.WARNING, parts)
def beam_open(part: PagePart) -> Flaws:
    """A beam has no other end.

    Beams run within a voice, whatever the staff; grace notes have beams of their own.
    """
    opened: dict[tuple[str, bool, str], Head] = {}
    for head in part.heads:
        for number, value in head.beams:
            key = (head.voice, head.is_grace, number)
            before = opened.get(key)
            if value == "begin":
                if before is not None:
                    yield _loose_beam(before, "ends nowhere")
                opened[key] = head
            elif value in {"continue", "end"}:
                if before is None:
                    yield _loose_beam(head, "begins nowhere")
                elif value == "end":
                    del opened[key]
                if before is None and value == "continue":
                    opened[key] = head
    for head in opened.values():
        yield _loose_beam(head, "ends nowhere")


def _loose_beam(head: Head, what: str) -> Flaw:
    return at_head(head, f"the beam of {head.pitch or 'the rest'} {what}",
                   expected="a beam with both its ends")  # fmt: skip
