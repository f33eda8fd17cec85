"""Altered notes without the sign that makes them so."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from lxml import etree

from variants.proof.finding import Fix, Flaw, Severity, at_head, at_part
from variants.proof.page import Head, Page
from variants.proof.registry import rule
from variants.proof.views.signs import NAMES, SignTrouble, Trouble, is_trusted, sign_report

# So few notes without a sign may be slips even where there is no sign to compare them with.
MOST_SINGLE = 2
# Children of a note that stand behind its accidental.
_BEHIND = ("time-modification", "stem", "notehead", "notehead-text", "staff", "beam", "notations",
           "lyric", "play", "listen")  # fmt: skip


@rule("accidental-missing", Severity.ERROR, "a note lacks the sign that its pitch needs")
def check(page: Page) -> Iterator[Flaw]:
    """Yield the notes that a reader would play otherwise than the file says.

    A part that writes next to no signs leaves them to the program that opens it: one hint, or
    warnings where they are so few that one may be forgotten.
    """
    for part in page.parts:
        report = sign_report(page, part)
        missing = report.of(Trouble.MISSING)
        trusted = is_trusted(page, report)
        if len(missing) > MOST_SINGLE and not trusted:
            promised = ", though it promises to" if page.writes_signs else ""
            yield at_part(
                part,
                f"{len(missing)} notes need a sign and the file writes next to none{promised}",
                expected="accidentals written out",
                severity=Severity.WARNING if page.writes_signs else Severity.HINT,
            )
            continue
        severity = None if trusted else Severity.WARNING
        yield from (_flaw(one, severity) for one in missing)
        if missing or report.printed:
            yield from (_flaw(one, Severity.WARNING) for one in report.of(Trouble.AFTER_TIE))


def _flaw(one: SignTrouble, severity: Severity | None) -> Flaw:
    pitch = one.head.pitch
    alter = 0 if pitch is None else pitch.alter
    name = NAMES.get(int(alter), "sign")
    after = " after the tied note" if one.trouble is Trouble.AFTER_TIE else ""
    return at_head(
        one.head, f"{pitch} has no sign{after} and would be read as {_read(one)}",
        expected=f"a {name}", fix=Fix(f"write a {name}", _writer(one.head, name)),
        severity=severity,
    )  # fmt: skip


def _read(one: SignTrouble) -> str:
    pitch = one.head.pitch
    letter = pitch.letter if pitch else ""
    return f"{letter} {NAMES.get(int(one.reads_as), '')}".strip()


def _writer(head: Head, name: str) -> Callable[[], None]:
    def write() -> None:
        sign = etree.Element("accidental")
        sign.text = name
        note = head.element
        behind = next((i for i, child in enumerate(note) if child.tag in _BEHIND), len(note))
        if behind:
            sign.tail = note[behind - 1].tail
        note.insert(behind, sign)

    return write
