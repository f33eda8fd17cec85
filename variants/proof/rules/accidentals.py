"""Accidental signs against what the signature and the measure so far say, and odd spellings.

Common practice: a sign holds for its letter and octave on its staff to the end of the measure; a
note tied over the barline needs none, and what follows it in the measure does again.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from fractions import Fraction
from itertools import pairwise

from lxml import etree

from variants.music import Key, spelled
from variants.proof.finding import Fix, Flaw, Severity, at_head, at_part
from variants.proof.page import (
    LETTERS,
    NO_SIGNS,
    Head,
    KeyTable,
    PageBar,
    PagePart,
    ScannedPage,
    pages,
    parts,
    view,
)
from variants.proof.registry import Flaws, rule
from variants.proof.views.ties import unmarked_ends

# So few notes without a sign may be slips even where there is no sign to compare them with.
MOST_SINGLE = 2
# Children of a note that stand behind its accidental.
_BEHIND = ("time-modification", "stem", "notehead", "notehead-text", "staff", "beam", "notations",
           "lyric", "play", "listen")  # fmt: skip
# Places on the line of fifths, counted from the signature: the scale lies from -1 to 5; the
# lowered second and sixth of minor keys below it, the raised second and fifth above it (common
# practice).
LOWEST, HIGHEST = -6, 10
# MusicXML accidental names that a note of the trade bears, with their alteration.
SIGNS = {
    "sharp": 1, "flat": -1, "natural": 0, "double-sharp": 2, "sharp-sharp": 2, "flat-flat": -2,
    "double-flat": -2, "natural-sharp": 1, "natural-flat": -1,
}  # fmt: skip
NAMES = {1: "sharp", -1: "flat", 0: "natural", 2: "double-sharp", -2: "flat-flat"}
Place = tuple[int, str, int]


class Trouble(Enum):
    """What can be wrong with the sign of a note."""

    MISSING = "missing"
    AFTER_TIE = "missing after a tie"
    WRONG = "wrong"
    REDUNDANT = "redundant"
    OCTAVE = "another octave"


@dataclass(frozen=True, slots=True)
class SignTrouble:
    """A note whose sign is wrong, and the alteration that the reader takes it to have."""

    head: Head
    trouble: Trouble
    reads_as: int | Fraction


@dataclass(slots=True)
class SignReport:
    """The signs of one part: what is wrong, and how many needed signs are there."""

    troubles: list[SignTrouble]
    printed: int = 0

    def of(self, *troubles: Trouble) -> list[SignTrouble]:
        """Return the troubles of some kinds."""
        return [one for one in self.troubles if one.trouble in troubles]


@view
def sign_report(part: PagePart) -> SignReport:
    """Return the report of one part."""
    return _SignReader(part).read()


def is_trusted(page: ScannedPage, report: SignReport) -> bool:
    """Whether the part writes its signs at all, so that one that is not there is missing.

    A file may promise to write them all, and some promise it and write none.
    """
    missing = len(report.of(Trouble.MISSING))
    enough = max(1, missing if page.writes_signs else 3 * missing)
    return report.printed >= enough


class _SignReader:
    """Walks through the measures of a part as a reader does."""

    def __init__(self, part: PagePart) -> None:
        self.part = part
        self.tied_to = unmarked_ends(part)
        self.tables: dict[int, KeyTable | None] = {0: NO_SIGNS}
        self.report = SignReport([])
        self.skipped = {clef.staff for clef in part.clefs if clef.sign in {"TAB", "percussion"}}
        self.state: dict[Place, int | Fraction] = {}
        self.held: dict[Place, int | Fraction] = {}
        # Alterations of letters in the measure before: a sign that takes one back is a courtesy.
        self.before: dict[tuple[int, str], set[int | Fraction]] = {}
        self.here: dict[tuple[int, str], set[int | Fraction]] = {}
        self.struck_at: dict[Place, int] = {}
        # Places and moments that bear a sign, and places whose reading an editor left open.
        self.signed: set[tuple[Place, int]] = set()
        self.open: set[Place] = set()

    def read(self) -> SignReport:
        for bar in self.part.bars:
            self._take_bar(bar)
        return self.report

    def _take_bar(self, bar: PageBar) -> None:
        self.state, self.held, self.struck_at = {}, {}, {}
        self.open = set()
        self.signed = {
            ((head.staff, head.pitch.letter, head.pitch.octave), head.onset)
            for head in bar.heads
            if head.sign and head.pitch is not None
        }
        self.before, self.here = self.here, {}
        changes = list(bar.keys)
        while changes and changes[0][0] == 0:
            self._take_key(changes.pop(0))
        heads = bar.heads
        if any(a.onset > b.onset for a, b in pairwise(heads)):
            heads = sorted(heads, key=lambda head: head.onset)
        for head in heads:
            if head.pitch is None or head.staff in self.skipped:
                continue
            while changes and changes[0][0] <= head.onset:
                self._take_key(changes.pop(0))
            self._take_head(head)

    def _is_tied(self, head: Head) -> bool:
        """Whether a tie leads to a note; one that the note itself does not mark carries the sign.

        The missing mark is told by `tie-open`, once.
        """
        if head.tie_stop or head.tied_stop:
            return True
        height = head.sounding
        return height is not None and (head.moment, head.staff, height) in self.tied_to

    def _take_key(self, change: tuple[int, int, KeyTable | None]) -> None:
        onset, staff, table = change
        if staff == 0:
            self.tables.clear()
        self.tables[staff] = table
        if onset:
            self.state.clear()

    def _take_head(self, head: Head) -> None:
        pitch = head.pitch
        table = self.tables.get(head.staff, self.tables.get(0, NO_SIGNS))
        if pitch is None or table is None:
            return
        letter, alter = pitch.letter, pitch.alter
        place = (head.staff, letter, pitch.octave)
        by_key = table[LETTERS.index(letter)]
        known = self.state.get(place)
        prior = by_key if known is None else known
        # Another voice may strike the letter while this one still holds it.
        is_held = self._is_tied(head) and (known is None or head.onset == 0)
        if not head.is_hidden and alter.denominator == 1 and prior.denominator == 1:
            if head.sign:
                self._take_printed(head, prior, is_held=is_held)
            elif not is_held:
                self._take_bare(head, prior)
        self.here.setdefault((head.staff, letter), set()).add(alter)
        if head.is_editorial:
            self.open.add(place)
        elif head.sign:
            self.open.discard(place)
        if is_held and not head.sign:
            # The sign before the barline does not hold for what follows the tied note.
            self.held[place] = alter
            return
        self.state[place] = alter
        self.struck_at.setdefault(place, head.onset)

    def _take_printed(self, head: Head, prior: int | Fraction, *, is_held: bool) -> None:
        pitch = head.pitch
        says = SIGNS.get(head.sign)
        if pitch is None or says is None:
            return
        if says != pitch.alter:
            self._trouble(head, Trouble.WRONG, says)
        elif pitch.alter != prior:
            self.report.printed += 1
        elif not (head.is_courtesy or is_held or self._has_reason(head)):
            self._trouble(head, Trouble.REDUNDANT, prior)

    def _has_reason(self, head: Head) -> bool:
        pitch = head.pitch
        if pitch is None:
            return True
        letter = (head.staff, pitch.letter)
        seen = self.before.get(letter, set()) | self.here.get(letter, set())
        place = (head.staff, pitch.letter, pitch.octave)
        return bool(seen - {pitch.alter}) or self.struck_at.get(place) == head.onset

    def _take_bare(self, head: Head, prior: int | Fraction) -> None:
        pitch = head.pitch
        if pitch is None:
            return
        place = (head.staff, pitch.letter, pitch.octave)
        if place in self.open or head.is_editorial:
            return
        if pitch.alter != prior:
            # Voices that meet on one note share its sign.
            if (place, head.onset) in self.signed and not head.is_grace:
                return
            after_tie = place not in self.state and self.held.get(place) == pitch.alter
            self._trouble(head, Trouble.AFTER_TIE if after_tie else Trouble.MISSING, prior)
            # What follows at this place in the measure hangs on this note: one flaw, not many.
            self.open.add(place)
        elif place not in self.state:
            others = self.here.get((head.staff, pitch.letter), set()) - {pitch.alter}
            if others:
                self._trouble(head, Trouble.OCTAVE, next(iter(others)))

    def _trouble(self, head: Head, trouble: Trouble, reads_as: int | Fraction) -> None:
        self.report.troubles.append(SignTrouble(head, trouble, reads_as))


@rule("accidental-missing", Severity.ERROR, pages)
def accidental_missing(page: ScannedPage) -> Flaws:
    """A note lacks the sign that its pitch needs.

    A part that writes next to no signs leaves them to the program that opens it: one hint, or
    warnings where they are so few that one may be forgotten.
    """
    for part in page.parts:
        report = sign_report(part)
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
        yield from (_missing_sign(one, severity) for one in missing)
        if missing or report.printed:
            after = report.of(Trouble.AFTER_TIE)
            yield from (_missing_sign(one, Severity.WARNING) for one in after)


def _missing_sign(one: SignTrouble, severity: Severity | None) -> Flaw:
    pitch, note = one.head.pitch, one.head.element
    name = NAMES.get(0 if pitch is None else int(pitch.alter), "sign")
    after = " after the tied note" if one.trouble is Trouble.AFTER_TIE else ""
    read = f"{pitch.letter if pitch else ''} {NAMES.get(int(one.reads_as), '')}".strip()

    def write() -> None:
        sign = etree.Element("accidental")
        sign.text = name
        behind = next((i for i, child in enumerate(note) if child.tag in _BEHIND), len(note))
        if behind:
            sign.tail = note[behind - 1].tail
        note.insert(behind, sign)

    return at_head(
        one.head, f"{pitch} has no sign{after} and would be read as {read}",
        expected=f"a {name}", fix=Fix(f"write a {name}", write), severity=severity,
    )  # fmt: skip


@rule("accidental-wrong", Severity.ERROR, parts)
def accidental_wrong(part: PagePart) -> Flaws:
    """The printed sign is not that of the pitch."""
    for one in sign_report(part).of(Trouble.WRONG):
        pitch = one.head.pitch
        if pitch is not None:
            yield at_head(
                one.head, f"the sign is a {one.head.sign}, the pitch is {pitch}",
                expected=f"a {NAMES.get(int(pitch.alter), 'sign')}",
                # An editor may propose another pitch than the source has.
                severity=Severity.WARNING if one.head.is_editorial else None,
            )  # fmt: skip


@rule("accidental-redundant", Severity.HINT, parts)
def accidental_redundant(part: PagePart) -> Flaws:
    """A sign repeats what the key or the measure says.

    One that nothing asks for and that is not marked as a courtesy.
    """
    for one in sign_report(part).of(Trouble.REDUNDANT):
        yield at_head(
            one.head, f"the {one.head.sign} of {one.head.pitch} holds already",
            expected="no sign, or one in parentheses",
        )  # fmt: skip


@rule("accidental-octave", Severity.HINT, parts)
def accidental_octave(part: PagePart) -> Flaws:
    """A letter has another sign in another octave."""
    report = sign_report(part)
    for one in report.of(Trouble.OCTAVE) if report.printed else ():
        other = NAMES.get(int(one.reads_as), "altered")
        yield at_head(
            one.head, f"{one.head.pitch} has no sign, and the same letter is {other} in "
            "another octave of the measure", expected="a courtesy sign",
        )  # fmt: skip


@rule("enharmonic", Severity.HINT, parts)
def enharmonic(part: PagePart) -> Flaws:
    """A note is spelled in a way that its key does not ask for."""
    tables: dict[int, int | None] = {0: 0}
    for bar in part.bars:
        for _, staff, table in bar.keys:
            if staff == 0:
                tables.clear()
            tables[staff] = _fifths_of(table)
        for head in bar.heads:
            pitch = head.pitch
            if pitch is None or head.staff in part.tab_staves or pitch.is_microtone:
                continue
            fifths = tables.get(head.staff, tables.get(0, 0))
            if fifths is not None and not LOWEST <= pitch.fifths - fifths <= HIGHEST:
                yield at_head(
                    head, f"{pitch} is oddly spelled in the signature of {_key_words(fifths)}",
                    expected=str(spelled(pitch.midi, Key(fifths))),
                )  # fmt: skip


def _fifths_of(table: KeyTable | None) -> int | None:
    if table is None:
        return None
    total = sum(table)
    if total.denominator != 1:
        return None
    fifths = int(total)
    regular = tuple(Key(fifths).altered(letter) for letter in LETTERS)
    return fifths if regular == table else None


def _key_words(fifths: int) -> str:
    if not fifths:
        return "C major"
    return f"{abs(fifths)} {'sharp' if fifths > 0 else 'flat'}{'s' if abs(fifths) > 1 else ''}"
