"""What the proofreader says: severity, the flaw that a rule sees, the finding that people read."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from enum import Enum
from typing import TYPE_CHECKING

from lxml import etree

if TYPE_CHECKING:
    from variants.proof.page import Head, PageBar, PagePart


class Severity(Enum):
    """How sure the proofreader is that a reader would be misled.

    ``error``: the page contradicts itself or the instrument. ``warning``: almost surely not
    meant. ``hint``: a matter of care or taste.
    """

    ERROR = "error"
    WARNING = "warning"
    HINT = "hint"

    @property
    def rank(self) -> int:
        """0 for the worst."""
        return list(Severity).index(self)


@dataclass(frozen=True, slots=True)
class Fix:
    """A correction that leaves no choice.

    Args:
        text: What it does, in plain words: ``write fret 3``.
        apply: Changes the XML tree that the flaw was seen in.
    """

    text: str
    apply: Callable[[], None] = field(compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class Flaw:
    """What a rule sees, with its place on the page.

    Args:
        message: What is wrong, one sentence without a full stop.
        expected: What should stand there; empty when that is not known.
        part: The part, ``None`` for the file as a whole.
        bar: The measure, ``None`` for a part as a whole.
        onset: Ticks from the start of the measure; -1 for the measure as a whole.
        voice: Voice, empty if it is not about one.
        staff: Staff in the part, 0 if it is not about one.
        element: The XML element, for its line.
        fix: The certain correction, if there is one.
        severity: Where it differs from that of the rule.
    """

    message: str
    expected: str = ""
    part: PagePart | None = None
    bar: PageBar | None = None
    onset: int = -1
    voice: str = ""
    staff: int = 0
    element: etree._Element | None = field(default=None, compare=False)
    fix: Fix | None = None
    severity: Severity | None = None


def at_head(
    head: Head, message: str, *, expected: str = "", fix: Fix | None = None,
    severity: Severity | None = None,
) -> Flaw:  # fmt: skip
    """Return a flaw at a note."""
    return Flaw(
        message, expected, head.bar.part, head.bar, head.onset, head.voice, head.staff,
        head.element, fix, severity,
    )  # fmt: skip


def at_bar(
    bar: PageBar, message: str, *, onset: int = -1, expected: str = "", voice: str = "",
    element: etree._Element | None = None, severity: Severity | None = None,
) -> Flaw:  # fmt: skip
    """Return a flaw at a moment of a measure, or of the measure as a whole."""
    where = bar.element if element is None else element
    return Flaw(message, expected, bar.part, bar, onset, voice, element=where, severity=severity)


def at_part(
    part: PagePart, message: str, *, expected: str = "", element: etree._Element | None = None,
    severity: Severity | None = None,
) -> Flaw:  # fmt: skip
    """Return a flaw of a part as a whole."""
    where = part.element if element is None else element
    return Flaw(message, expected, part, element=where, severity=severity)


@dataclass(frozen=True, slots=True)
class Finding:
    """One line of the proofreader's report.

    Args:
        file: Name of the file as it was given.
        part: Part id, empty for the file as a whole.
        measure: Printed number, empty for a whole part.
        beat: Beat in the measure as people count it, empty for a whole measure.
        voice: Voice, empty if it is not about one.
        rule: Id of the rule.
        severity: How sure it is.
        message: What is wrong.
        expected: What should stand there, empty when that is not known.
        fix: What ``--fix`` would do, empty when no correction is certain.
        line: Line of the file, 0 if not known.
        measure_index: Place of the measure in its part from 0, -1 for none.
    """

    file: str
    part: str
    measure: str
    beat: str
    voice: str
    rule: str
    severity: Severity
    message: str
    expected: str = ""
    fix: str = ""
    line: int = 0
    measure_index: int = -1

    @property
    def place(self) -> str:
        """Where: ``measure 3, beat 2, voice 1``; empty for the file as a whole."""
        words = [f"part {self.part}"] if self.part else []
        words += [f"measure {self.measure}"] if self.measure else []
        words += [f"beat {self.beat}"] if self.beat else []
        words += [f"voice {self.voice}"] if self.voice and self.beat else []
        return ", ".join(words)

    def __str__(self) -> str:
        place = f"{self.file}: {self.place}" if self.place else self.file
        return f"{place}: {self.message} [{self.rule}]"
