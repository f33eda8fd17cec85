"""From an XML tree to a page as it is written. Nothing stops it: what it cannot read is a slip."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from math import lcm

from lxml import etree

from variants.music import Metre
from variants.proof.page import Head, PageBar, PageDirection, PagePart, ScannedPage, Slip
from variants.proof.scan_attributes import AttributeState, read_attributes
from variants.proof.scan_note import decimal, read_head, whole
from variants.score.timeline import missing_before

# Divisions without a common multiple below this are rounded to it.
MOST_TICKS = 10**9


def scan(root: etree._Element) -> ScannedPage:
    """Return the page of a partwise tree."""
    ticks, slips = _ticks_of_page(root)
    declared: dict[str, etree._Element] = {}
    for one in root.findall("part-list/score-part"):
        name = one.get("id", "")
        if name in declared:
            slips.append(Slip("part-id", f"two parts are declared as {name!r}", element=one))
        declared[name] = one
    parts: list[PagePart] = []
    seen: set[str] = set()
    for element in root.findall("part"):
        name = element.get("id", "")
        if name not in declared:
            slips.append(
                Slip("part-id", f"part {name!r} is not in the part list", element=element,
                     expected=f"one of {', '.join(declared) or 'no part at all'}")
            )  # fmt: skip
        elif name in seen:
            slips.append(Slip("part-id", f"part {name!r} stands twice", element=element))
        seen.add(name)
        parts.append(PartScanner(element, declared.get(name), ticks).part())
    slips += [
        Slip("part-id", f"part {name!r} is declared and has no music", element=one)
        for name, one in declared.items()
        if name not in seen
    ]
    promises = root.find("identification/encoding/supports[@element='accidental'][@type='yes']")
    return ScannedPage(root, ticks, parts, slips, promises is not None)


def _ticks_of_page(root: etree._Element) -> tuple[int, list[Slip]]:
    ticks = 1
    slips: list[Slip] = []
    for element in root.iter("divisions"):
        value = decimal(element.text)
        if value is None or value <= 0:
            slips.append(
                Slip("divisions", f"<divisions> is {element.text!r}", element=element,
                     expected="a number above 0")
            )  # fmt: skip
            continue
        ticks = min(lcm(ticks, value.numerator), MOST_TICKS)
    # Enough for 256th notes and for triplets of 64ths where nothing in the file asks for more.
    return lcm(ticks, 192), slips


class PartScanner:
    """Scans the measures of one part in order."""

    def __init__(
        self, element: etree._Element, declared: etree._Element | None, ticks: int
    ) -> None:
        name = "" if declared is None else " ".join((declared.findtext("part-name") or "").split())
        self.found = PagePart(element.get("id", ""), name, element, declared, ticks)
        self.found.is_guitar = _is_guitar(declared, name)
        self.ticks = ticks
        self.scale: int | Fraction = 0
        self.state = AttributeState()
        self.start = 0
        self.cursor = self.reach = 0
        self.last: Head | None = None
        self.bar = PageBar(self.found, 0, "", element, Metre())

    def part(self) -> PagePart:
        """Return the part."""
        for index, element in enumerate(self.found.element.findall("measure")):
            self._scan_measure(index, element)
        bars = self.found.bars
        lengths, full = [], 4 * self.ticks  # Common time until a metre is stated, as in a score.
        for bar in bars:
            if bar.metre or bar.element.find("attributes/time") is not None:
                full = bar.full
            lengths.append((bar.reach or full, full, bar.is_implicit))
        for bar, missing in zip(bars, missing_before(lengths), strict=True):
            bar.lead = int(missing)
        return self.found

    def _scan_measure(self, index: int, element: etree._Element) -> None:
        bar = PageBar(self.found, index, element.get("number", ""), element, self.state.metre)
        bar.start, bar.full = self.start, self._metre_ticks()
        bar.is_implicit = element.get("implicit") == "yes"
        bar.is_non_controlling = element.get("non-controlling") == "yes"
        self.bar, self.cursor, self.reach, self.last = bar, 0, 0, None
        self.found.bars.append(bar)
        for child in element:
            if child.tag == "note":
                self._scan_note(child)
            else:
                handler = _CHILDREN.get(child.tag)
                if handler is not None:
                    handler(self, child)
        bar.reach = self.reach
        bar.division = max(int(self.scale), 1)
        # Only the metre that holds at the start rules the sum of the measure.
        if not bar.full and bar.metre is not None:
            bar.full = self._metre_ticks()
        self.start += bar.length

    def _metre_ticks(self) -> int:
        return int(self.state.metre.quarters * self.ticks) if self.state.metre else 0

    def slip(self, rule: str, message: str, element: etree._Element, expected: str = "") -> None:
        """Note what cannot be read here."""
        self.bar.slips.append(Slip(rule, message, self.cursor, element, expected))

    def _ticks_lasting(self, text: str | None, element: etree._Element) -> int:
        if not self.scale:
            self.slip("divisions", "a duration is given before any <divisions>", element)
            self.scale = self.ticks
        value = whole(text)
        if value is not None and value >= 0:
            return int(value * self.scale)
        exact = decimal(text)
        if exact is None or exact < 0:
            self.slip("xml-value", f"a duration is {text!r}", element, "a number above 0")
            return 0
        return int(exact * self.scale)

    # -- children of a measure -----------------------------------------------------------

    def _scan_note(self, child: etree._Element) -> None:
        bar = self.bar
        slips = bar.slips
        known = len(slips)
        head, duration = read_head(child, slips)
        for slip in slips[known:]:
            slip.onset = self.cursor
        head.bar = bar
        if duration is not None and not head.is_grace:
            head.has_duration = True
            head.duration = self._ticks_lasting(duration, child)
        if head.pitch is not None:
            head.sounding = head.pitch.semitones + self.state.shift(head.staff)
        bar.heads.append(head)
        if head.is_chord:
            self._chord_member(head)
            return
        head.onset = self.cursor
        if not (head.has_duration or head.is_grace):
            self.slip("xml-value", "a note has no <duration>", child)
        self.last = head
        self.cursor += head.duration
        if self.cursor > self.reach:  # noqa: PLR1730 - max() is slower in this hot place
            self.reach = self.cursor

    def _chord_member(self, head: Head) -> None:
        if self.last is None:
            self.slip("chord-first", "a chord member stands where no note comes before it",
                      head.element)  # fmt: skip
            head.onset = self.cursor
            return
        head.onset = self.last.onset
        if head.voice == "1" and self.last.voice != "1" and head.element.find("voice") is None:
            head.voice = self.last.voice

    def read_backup(self, child: etree._Element) -> None:
        """Move the cursor back."""
        self.cursor -= self._ticks_lasting(child.findtext("duration"), child)
        self.last = None
        if self.cursor < 0:
            self.slip("backup", "a <backup> goes back before the start of the measure", child)
            self.cursor = 0

    def read_forward(self, child: etree._Element) -> None:
        """Move the cursor on."""
        self.cursor += self._ticks_lasting(child.findtext("duration"), child)
        self.last = None
        self.reach = max(self.reach, self.cursor)

    def read_attributes(self, child: etree._Element) -> None:
        """Take over divisions, signatures, clefs, strings and transposition."""
        divisions = decimal(child.findtext("divisions"))
        if divisions is not None and divisions > 0:
            exact = self.ticks / divisions
            self.scale = int(exact) if exact.denominator == 1 else exact
        read_attributes(child, self.bar, self.cursor, self.state)
        if self.cursor == 0 and child.find("time") is not None:
            self.bar.metre, self.bar.full = self.state.metre, self._metre_ticks()

    def _direction_onset(self, child: etree._Element) -> int:
        offset = child.find("offset")
        moved = decimal(offset.text) if offset is not None else None
        return self.cursor + (int(moved * (self.scale or 1)) if moved is not None else 0)

    def read_direction(self, child: etree._Element) -> None:
        """Keep a direction with its words."""
        words = " ".join(
            " ".join((word.text or "").split())
            for kind in child.findall("direction-type")
            for word in kind.iter("words", "rehearsal")
        )
        self.bar.directions.append(
            PageDirection(self._direction_onset(child), child, words.strip())
        )

    def read_sound(self, child: etree._Element) -> None:
        """Keep a sound that stands alone."""
        self.bar.directions.append(PageDirection(self._direction_onset(child), child))

    def read_harmony(self, child: etree._Element) -> None:
        """Keep a chord symbol."""
        self.bar.harmonies.append((self._direction_onset(child), child))

    def read_barline(self, child: etree._Element) -> None:
        """Keep a barline."""
        self.bar.barlines.append((child.get("location", "right"), child))


def _is_guitar(declared: etree._Element | None, name: str) -> bool:
    if declared is None:
        return False
    lowered = name.lower()
    if "guitar" in lowered or "gtr" in lowered or "gitar" in lowered:
        return "bass" not in lowered
    sounds = declared.findall("score-instrument/instrument-sound")
    return any((sound.text or "").startswith("pluck.guitar") for sound in sounds)


_CHILDREN: dict[object, Callable[[PartScanner, etree._Element], None]] = {
    "backup": PartScanner.read_backup,
    "forward": PartScanner.read_forward,
    "attributes": PartScanner.read_attributes,
    "direction": PartScanner.read_direction,
    "sound": PartScanner.read_sound,
    "harmony": PartScanner.read_harmony,
    "barline": PartScanner.read_barline,
}
