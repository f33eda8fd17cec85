"""The page as it is written: every note element with its place, nothing mended or merged.

A `Score` is what the music means, so its reader joins what belongs together: a tab staff and its
notation, a tie and its picture, voices that overlap. A proofreader needs what was there before:
this view keeps both, and the XML element of each thing for its line and its correction. Times
are whole ticks, `ScannedPage.ticks` to a quarter.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cached_property, wraps
from typing import Any, TypeVar

from lxml import etree

from variants.music import Metre, Pitch
from variants.score import Instrument

# Alteration by the signature of each letter, in the order of LETTERS.
LETTERS = "CDEFGAB"
KeyTable = tuple[int | Fraction, ...]
NO_SIGNS: KeyTable = (0,) * 7
# What a view is made of: a page or a part, which keep what was made of them.
_Seen = TypeVar("_Seen", bound="ScannedPage | PagePart")
_View = TypeVar("_View")


def view(make: Callable[[_Seen], _View]) -> Callable[[_Seen], _View]:
    """Make a function of a page or a part a view: made when first asked for, shared by the rules.

    Who asks calls the function; its type says what is got.
    """

    @wraps(make)
    def ask(seen: _Seen) -> _View:
        if make not in seen.views:
            seen.views[make] = make(seen)
        made: _View = seen.views[make]
        return made

    return ask


class Span:
    """One end of a mark that runs over notes: of a slur, a tuplet, a hammer-on.

    Args:
        family: Element name.
        role: ``start``, ``stop``, ``continue`` and the like.
        number: Number that tells overlapping spans apart.
        element: The element.
    """

    __slots__ = ("element", "family", "number", "role")

    def __init__(self, family: str, role: str, number: str, element: etree._Element) -> None:
        self.family = family
        self.role = role
        self.number = number
        self.element = element


class Head:
    """One ``note`` element. The defaults are class attributes, so that making one is cheap."""

    element: etree._Element
    bar: PageBar
    onset = 0
    duration = 0
    has_duration = False
    voice = "1"
    staff = 1
    is_chord = False
    is_grace = False
    is_cue = False
    is_rest = False
    is_measure_rest = False
    is_hidden = False
    is_unpitched = False
    # Pitch as written, and its sounding height on the MIDI scale as the file says it.
    pitch: Pitch | None = None
    sounding: int | Fraction | None = None
    tie_start = False
    tie_stop = False
    tied_start = False
    tied_stop = False
    let_ring = False
    type = ""
    dots = 0
    actual = 1
    normal = 1
    normal_type = ""
    normal_dots = 0
    # The <accidental> element's text; empty for none.
    sign = ""
    is_courtesy = False
    # An editor's sign, above the note or in parentheses: it may hold for this note alone.
    is_editorial = False
    string = 0
    fret = -1
    finger = ""
    is_harmonic = False
    # Semitones by which the string is bent at most.
    bend = 0.0
    spans: tuple[Span, ...] = ()
    lyrics: tuple[etree._Element, ...] = ()
    beams: tuple[tuple[str, str], ...] = ()
    instrument_id = ""
    # Further string or fret elements than one.
    extra_places = 0

    @property
    def moment(self) -> int:
        """Ticks from the start of the part."""
        return self.bar.start + self.onset

    @property
    def end(self) -> int:
        """Ticks from the start of the part at which it is over."""
        return self.bar.start + self.onset + self.duration

    @property
    def is_struck(self) -> bool:
        """Whether a pitch begins here rather than being held by a tie."""
        return self.pitch is not None and not (self.tie_stop or self.tied_stop)

    @property
    def is_placed(self) -> bool:
        """Whether string and fret are given."""
        return self.string > 0 and self.fret >= 0

    @property
    def is_tuplet(self) -> bool:
        """Whether a tuplet ratio applies."""
        return self.actual != self.normal


@dataclass(slots=True)
class PageDirection:
    """A ``direction`` or a lone ``sound`` with its moment and its words."""

    onset: int
    element: etree._Element
    words: str = ""

    @property
    def sound(self) -> etree._Element | None:
        """Its ``sound`` element: tempo and jumps."""
        return self.element if self.element.tag == "sound" else self.element.find("sound")


@dataclass(slots=True)
class Slip:
    """Something that stops the reading of a place: (rule id, what is wrong)."""

    rule: str
    message: str
    onset: int = -1
    element: etree._Element | None = None
    expected: str = ""


@dataclass(slots=True, eq=False)
class PageBar:
    """One ``measure`` element.

    Args:
        part: Its part.
        index: Place in the part, from 0.
        number: As printed.
        element: The element.
        metre: Metre in force at its start; ``None`` for senza misura.
        start: Ticks from the start of the part.
        reach: Ticks that its content lasts.
        full: Ticks of its metre; 0 when there is none.
        is_implicit: Not counted: a pick-up or part of a split measure.
        heads: Its notes and rests as they stand in the file.
        keys: Changes of key: (tick, staff or 0 for all, signs).
        harmonies: Chord symbols: (tick, element).
        directions: Directions in the order of the file.
        barlines: (location, element).
        slips: What could not be read.
    """

    part: PagePart
    index: int
    number: str
    element: etree._Element
    metre: Metre | None
    start: int = 0
    reach: int = 0
    full: int = 0
    is_implicit: bool = False
    is_non_controlling: bool = False
    heads: list[Head] = field(default_factory=list)
    keys: list[tuple[int, int, KeyTable | None]] = field(default_factory=list)
    harmonies: list[tuple[int, etree._Element]] = field(default_factory=list)
    directions: list[PageDirection] = field(default_factory=list)
    barlines: list[tuple[str, etree._Element]] = field(default_factory=list)
    slips: list[Slip] = field(default_factory=list)
    # Ticks of its metre that are missing before it begins: beats of a pick-up count from there.
    lead: int = 0
    # Ticks of one division: durations are rounded to it.
    division: int = 1

    @property
    def length(self) -> int:
        """Ticks that it lasts: its content, or its metre when it is empty."""
        return self.reach or self.full

    def beat(self, onset: int) -> str:
        """Return the beat of a moment as people count it; see `Metre.beat_name`."""
        return (self.metre or Metre((), ())).beat_name(Fraction(onset + self.lead, self.part.ticks))


@dataclass(slots=True)
class PageStrings:
    """How a staff is strung from a moment on.

    Args:
        moment: Ticks from the start of the part.
        staff: The staff.
        instrument: Tuning and capo; ``None`` when lines are stated and no tuning.
        lines: Number of lines, 0 if not stated.
        element: The ``staff-details`` element.
    """

    moment: int
    staff: int
    instrument: Instrument | None
    lines: int
    element: etree._Element


@dataclass(slots=True)
class ClefSign:
    """A clef with its moment."""

    moment: int
    staff: int
    sign: str
    octave_change: int
    element: etree._Element
    bar: PageBar


@dataclass(eq=False)
class PagePart:
    """One part.

    Args:
        id: Part id.
        name: Name as printed.
        element: The ``part`` element.
        declared: The ``score-part`` element, ``None`` when there is none.
        ticks: Ticks in a quarter.
        views: What several rules look at, made when it is first asked for.
    """

    id: str
    name: str
    element: etree._Element
    declared: etree._Element | None
    ticks: int
    bars: list[PageBar] = field(default_factory=list)
    clefs: list[ClefSign] = field(default_factory=list)
    strings: list[PageStrings] = field(default_factory=list)
    transposes: list[tuple[int, int, int | Fraction]] = field(default_factory=list)
    # (tick of the part, number of staves)
    staves: list[tuple[int, int]] = field(default_factory=list)
    is_guitar: bool = False
    views: dict[object, Any] = field(default_factory=dict, repr=False)

    @cached_property
    def heads(self) -> list[Head]:
        """Every note and rest in the order of the file."""
        return [head for bar in self.bars for head in bar.heads]

    @cached_property
    def placed(self) -> list[Head]:
        """Every note with string and fret."""
        return [head for head in self.heads if head.string > 0 and head.fret >= 0]

    @cached_property
    def tab_staves(self) -> frozenset[int]:
        """Staves that never bear another clef than TAB."""
        signs: dict[int, set[str]] = {}
        for clef in self.clefs:
            signs.setdefault(clef.staff, set()).add(clef.sign)
        return frozenset(staff for staff, names in signs.items() if names == {"TAB"})

    @cached_property
    def used_staves(self) -> frozenset[int]:
        """Staves that bear notes or rests."""
        return frozenset(head.staff for head in self.heads)

    @cached_property
    def is_fretted(self) -> bool:
        """Whether tab, frets or its name say that it is for a fretted instrument."""
        tuned = any(one.instrument is not None for one in self.strings)
        return tuned or bool(self.tab_staves or self.placed) or self.is_guitar


@dataclass(eq=False)
class ScannedPage:
    """A whole file.

    Args:
        root: The root element (partwise).
        ticks: Ticks in a quarter.
        parts: Its parts.
        slips: What is wrong with the file as a whole.
        writes_signs: Whether the file promises to write every accidental sign.
        hand: Size of the hand that must reach every grip, or its index-to-little span in mm.
        views: What several rules look at, made when it is first asked for.
    """

    root: etree._Element
    ticks: int
    parts: list[PagePart]
    slips: list[Slip] = field(default_factory=list)
    writes_signs: bool = False
    hand: str | float = "large"
    views: dict[object, Any] = field(default_factory=dict, repr=False)

    def bars(self) -> Iterator[PageBar]:
        """Yield every measure of every part."""
        for part in self.parts:
            yield from part.bars


# What a rule may be asked about (`variants.proof.registry.rule`).


def pages(page: ScannedPage) -> Iterator[ScannedPage]:
    """Yield the page itself."""
    yield page


def parts(page: ScannedPage) -> Iterator[PagePart]:
    """Yield every part."""
    yield from page.parts


def bars(page: ScannedPage) -> Iterator[PageBar]:
    """Yield every measure of every part."""
    return page.bars()


def heads(page: ScannedPage) -> Iterator[Head]:
    """Yield every note and rest of every part in the order of the file."""
    return (head for part in page.parts for head in part.heads)


def placed(page: ScannedPage) -> Iterator[Head]:
    """Yield every note with string and fret."""
    return (head for part in page.parts for head in part.placed)
