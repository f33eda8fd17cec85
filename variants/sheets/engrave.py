"""Engraves a score: one drawing for each system, every one as wide as the paper's text."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from importlib import resources
from math import isfinite
from typing import TYPE_CHECKING, Any

from lxml import etree

from variants.errors import OutputError
from variants.musicxml import Staves
from variants.score import Change, Event, Note, Part, Score
from variants.sheets import lengths
from variants.sheets.breaks import system_starts
from variants.sheets.cuts import glued_measures, phrase_measures
from variants.sheets.drawing import Drawing, Staff, draw
from variants.sheets.engraved import TEXT, USE, ends, groups, spot, staves
from variants.sheets.engraver_xml import Prepared, Wants, prepare, with_breaks
from variants.sheets.left_out import Sung
from variants.sheets.lettering import BLANK_MM, Letter
from variants.sheets.style import Print, print_named
from variants.sheets.tabmarks import add_tab_marks

if TYPE_CHECKING:
    import verovio

BEGINNERS_MEASURES = 4
_MOST_MEASURES = 8
# Room in pixels around a system, so that no line is cut at the edge.
_EDGE = 4
# The outermost bar lines are drawn half beyond the line's width.
_SIDE = 2
# A hand needs more room for a letter than print does.
# Syllables would else stand upon the tab under them.
_SUNG = {"normal": {"lyricHeightFactor": 1.6}, "large": {"lyricHeightFactor": 1.3}}
_WRITING = {"lyricHeightFactor": 2.0, "lyricTopMinMargin": 5.0}
# Least room for a figure and what parts it from the next one, in the size of figures.
_COLUMN_EM = 1.15
# Between two lines to write on.
_BLANK_GAP_MM = 1.5
# A line that is alone on its sheet is filled from this share of its width on; in large print, which
# is spaced narrowly, sooner.
_ONE_FILLED = {"normal": 0.3, "large": 0.2}
# Wider than any line, to see how wide its measures would naturally be.
_ENDLESS = 100000
# So many measures are measured on one line: few for the engraver's time on it, many for its lines.
_BLOCK = 16
# A rest of a quarter leaves a hand free to turn; so does a note that is held for two.
_TURN_REST = Fraction(1)
_TURN_HELD = Fraction(2)


@dataclass(frozen=True, slots=True)
class System:
    """One line of music.

    Args:
        svg: The drawing.
        width_mm: Its width on paper.
        height_mm: Its height on paper.
        first: Index of its first measure, from 0.
        last: Index of its last measure.
        can_turn: Whether a page may well be turned after it.
        staves: Where its staves stand, measure by measure, in the drawing's units.
        letters: Every piece of text on it.
        units_per_mm: Units of the drawing in a millimetre on paper.
    """

    svg: str
    width_mm: float
    height_mm: float
    first: int
    last: int
    can_turn: bool
    staves: tuple[Staff, ...] = field(repr=False, default=())
    letters: tuple[Letter, ...] = field(repr=False, default=())
    units_per_mm: float = 1.0


@dataclass(frozen=True, slots=True)
class Engraving:
    """A score on paper.

    Args:
        systems: Its lines of music from the first to the last.
        log: What of the score is not on paper, or not as it stood.
        heads: For each id of a note head in the drawings: part, measure, event, note.
    """

    systems: tuple[System, ...]
    log: tuple[Change, ...]
    heads: dict[str, tuple[int, int, Event, Note]] = field(
        repr=False, hash=False, default_factory=dict
    )


def engrave(
    score: Score,
    *,
    staves: Staves | str = Staves.SOURCE,
    width_mm: float = 182.0,
    size: str = "normal",
    most_measures: int = BEGINNERS_MEASURES,
    wants: Wants | None = None,
) -> Engraving:
    """Engrave a score.

    Args:
        score: The score, with places and fingers where they are to be printed.
        staves: Notation, tab or both.
        width_mm: Width of a line.
        size: ``normal`` or ``large``.
        most_measures: Most measures on a line.
        wants: What is printed at the notes.

    Raises:
        UsageError: There is no such layout or size.
        OutputError: The engraver cannot read the score, or is not installed.
    """
    return engrave_prepared(
        prepare(score, staves=staves, wants=wants or Wants()),
        score,
        printed=print_named(size),
        width_mm=width_mm,
        most_measures=most_measures,
    )


def engrave_prepared(
    prepared: Prepared,
    score: Score,
    *,
    printed: Print,
    width_mm: float,
    most_measures: int = BEGINNERS_MEASURES,
) -> Engraving:
    """Engrave what was made for the engraver already; see `engrave`."""
    pieces = [(prepared, score)]
    return engrave_alike(pieces, printed=printed, width_mm=width_mm, most_measures=most_measures)[0]


def engrave_alike(
    pieces: Sequence[tuple[Prepared, Score]],
    *,
    printed: Print,
    width_mm: float,
    most_measures: int = BEGINNERS_MEASURES,
) -> list[Engraving]:
    """Engrave several pieces; those of equally many measures begin their lines alike.

    Args:
        pieces: What was made for the engraver, each with its score.
        printed: Size of print.
        width_mm: Width of a line.
        most_measures: Most measures on a line; 0 lets the width decide.

    Raises:
        OutputError: The engraver cannot read a score, or is not installed.
    """
    works = [PieceInWork(prepared, score, printed) for prepared, score in pieces]
    starts = starts_alike(works, printed=printed, width_mm=width_mm, most_measures=most_measures)
    return [
        work.engraved(printed, width_mm, begins) for work, begins in zip(works, starts, strict=True)
    ]


def starts_alike(
    works: Sequence[PieceInWork],
    *,
    printed: Print,
    width_mm: float,
    most_measures: int = BEGINNERS_MEASURES,
) -> list[list[int]]:
    """Return the first measures of the lines of several pieces, alike where they can be.

    Args:
        works: The pieces.
        printed: Size of print.
        width_mm: Width of a line.
        most_measures: Most measures on a line; 0 lets the width decide.
    """
    line = width_mm / printed.mm_per_pixel
    alike: dict[tuple[bool, ...], list[PieceInWork]] = {}
    for work in works:
        alike.setdefault(work.shape, []).append(work)
    found = {}
    for shape, group in alike.items():
        found[shape] = system_starts(
            [max(one) for one in zip(*(work.widths(printed) for work in group), strict=True)],
            head=max(work.head for work in group),
            line=(line - 2 * _SIDE) * 10 * printed.fullness,
            most=most_measures or _MOST_MEASURES,
            uncounted=list(shape),
            glued=group[0].glued,
            phrases=group[0].phrases,
        )
    return [found[work.shape] for work in works]


class PieceInWork:
    """A piece while it is engraved: first on one endless line, then on lines of its own."""

    def __init__(self, prepared: Prepared, score: Score, printed: Print) -> None:
        self.prepared = prepared
        self.score = score
        self.toolkit = engraver(printed, writing=prepared.wants.writing)
        self.head, self._natural = self._natural_widths(len(score.parts[0].measures))

    def widths(self, printed: Print) -> list[float]:
        """Return the least width of each measure in a size of print, in drawing units."""
        # The engraver does not know how wide the figures of a tab and of the fingers are.
        column = printed.units(printed.size_pt("fret")) * _COLUMN_EM
        if self.prepared.wants.writing:
            column = (BLANK_MM + _BLANK_GAP_MM) / printed.mm_per_pixel * 10
        return [
            max(width, column * count)
            for width, count in zip(self._natural, _columns(self.score), strict=True)
        ]

    @property
    def glued(self) -> frozenset[int]:
        """Measures that no line begins with: in the middle of an ending, after a pick-up."""
        return glued_measures(self.score.parts[0])

    @property
    def phrases(self) -> frozenset[int]:
        """Measures with which a phrase begins."""
        return phrase_measures(self.score)

    def _natural_widths(self, count: int) -> tuple[float, list[float]]:
        """Return the natural width of clef and key, and of each measure without them.

        They are measured on endless lines of some measures each, because the engraver's time grows
        with the square of a line's measures. The first measure of a line has clef and key before
        it and the last may have the next one's behind it, so those around each break are measured
        a second time, on lines that break elsewhere.
        """
        breaks = [*range(_BLOCK, count - 1, _BLOCK)]
        blocks = self._on_endless_lines([0, *breaks])
        widths = [width for start in (0, *breaks) for width in blocks[start][1]]
        if breaks:
            around = sorted({0, *(at + step for at in breaks for step in (-2, 2))} - {count})
            again = self._on_endless_lines(around, only={at - 2 for at in breaks})
            for at in breaks:
                widths[at - 1 : at + 1] = again[at - 2][1][1:3]
        return blocks[0][0], widths

    def _on_endless_lines(
        self, starts: list[int], only: Collection[int] = ()
    ) -> dict[int, tuple[float, list[float]]]:
        """Return what `_natural` says of lines, all or some, by their first measures."""
        options = {"breaks": "encoded", "pageWidth": _ENDLESS, "noJustification": True}
        _load(self.toolkit, with_breaks(self.prepared, starts), options)
        return {
            start: _natural(self.toolkit.renderToSVG(page))
            for page, start in enumerate(starts, 1)
            if not only or start in only
        }

    @property
    def shape(self) -> tuple[bool, ...]:
        """For each measure whether it is not counted."""
        return tuple(measure.is_implicit for measure in self.score.parts[0].measures)

    def engraved(self, printed: Print, width_mm: float, starts: list[int]) -> Engraving:
        """Return the piece on lines of a width that begin with some measures."""
        part, line = self.score.parts[0], width_mm / printed.mm_per_pixel
        options = {
            "breaks": "encoded",
            "pageWidth": round(line),
            "noJustification": False,
            "minLastJustification": _last_filled(starts, part, printed),
        }
        _load(self.toolkit, with_breaks(self.prepared, starts), options)
        held, harmonics = _shown_apart(self.prepared)
        ends = [*starts[1:], len(part.measures)]
        count = self.toolkit.getPageCount()
        if count != len(starts):
            raise OutputError(
                f"the engraver made {count} lines of music instead of {len(starts)}",
                way_out="this is a defect of neckwise; please report it with the file",
            )
        last = self.score.parts[-1]
        drawings = [
            draw(
                self.toolkit.renderToSVG(page),
                printed,
                held=held,
                harmonics=harmonics,
                sung=Sung(self.prepared.heads, len(self.score.parts) - 1, last.measures[start:end]),
            )
            for page, (start, end) in enumerate(zip(starts, ends, strict=True), 1)
        ]
        add_tab_marks(drawings, self.prepared.heads)
        systems = tuple(
            _system(drawing, start, end - 1, part=part, ticks=self.score.ticks)
            for drawing, start, end in zip(drawings, starts, ends, strict=True)
        )
        return Engraving(systems, self.prepared.log, self.prepared.heads)


def _columns(score: Score) -> list[int]:
    """Return how many notes follow one another in each measure."""
    rows = zip(*(part.measures for part in score.parts), strict=False)
    return [len({e.onset for measure in row for e in measure.events if e.notes}) for row in rows]


def _last_filled(starts: list[int], part: Part, printed: Print) -> float:
    """Return from what share of its width on the last line is filled.

    A last line with as many measures as the others looks unfinished when it stops short.
    """
    ends = [*starts[1:], len(part.measures)]
    sizes = [
        sum(not measure.is_implicit for measure in part.measures[start:end])
        for start, end in zip(starts, ends, strict=True)
    ]
    alike = len(sizes) > 1 and sizes[-1] >= min(sizes[:-1])
    return 0.0 if alike else _ONE_FILLED[printed.name] if len(sizes) == 1 else 0.8


def _system(drawing: Drawing, first: int, last: int, *, part: Part, ticks: int) -> System:
    factor = drawing.print.mm_per_pixel / 10
    title = measures_text(part, first, last)
    drawing.name(title[:1].upper() + title[1:])
    return System(
        svg=drawing.to_svg(),
        width_mm=drawing.width * factor,
        height_mm=(drawing.height + drawing.top) * factor,
        first=first,
        last=last,
        can_turn=can_turn(part, last, ticks),
        staves=tuple(drawing.staves),
        letters=tuple(drawing.letters),
        units_per_mm=1 / factor,
    )


def measures_text(part: Part, first: int, last: int) -> str:
    """Return the measures of a line in words: ``measures 5 to 8``."""
    start, end = part.measures[first].number, part.measures[last].number
    return f"measure {start}" if start == end else f"measures {start} to {end}"


def can_turn(part: Part, last: int, ticks: int) -> bool:
    """Whether a hand is free at the end of a measure."""
    voices = [voice for voice in part.measures[last].voices if voice.events]
    if not voices:
        return True
    ends = [voice.events[-1] for voice in voices]
    free = [
        event.duration >= (_TURN_REST if event.is_rest else _TURN_HELD) * ticks for event in ends
    ]
    return all(free)


def _shown_apart(prepared: Prepared) -> tuple[frozenset[str], frozenset[str]]:
    """Return the ids of the fret numbers that are held over, and of those that are harmonics."""
    held = {name for name, (_, _, _, note) in prepared.heads.items() if note.tie_stop}
    harmonics = {
        name
        for name, (_, _, event, note) in prepared.heads.items()
        if any(mark.name == "harmonic" for mark in (*note.marks, *event.marks))
    }
    return frozenset(held), frozenset(harmonics)


def engraver(printed: Print, *, writing: bool = False) -> verovio.toolkit:
    """Return the engraver, set up for a size of print.

    Raises:
        OutputError: It is not installed.
    """
    try:
        import verovio
    except ModuleNotFoundError:
        raise OutputError(
            "the package verovio is not installed", way_out="install it with pip"
        ) from None
    verovio.enableLog(verovio.LOG_OFF)
    # The engraver remembers where its fonts are for the thread that imported it, and no other.
    toolkit = verovio.toolkit(initFont=False)
    toolkit.setResourcePath(str(resources.files("verovio") / "data"))
    options: dict[str, Any] = {
        "adjustPageHeight": True,
        "header": "none",
        "footer": "none",
        "svgViewBox": True,
        "svgFormatRaw": True,
        "svgRemoveXlink": True,
        "smuflTextFont": "none",
        "condense": "none",
        # Whose a finger is, for `settling`.
        "svgAdditionalAttribute": ["fing@startid"],
        # Ids must be the same in every run.
        "xmlIdSeed": 1,
        "pageHeight": 60000,
        "pageMarginLeft": _SIDE,
        "pageMarginRight": _SIDE,
        "pageMarginTop": _EDGE,
        "pageMarginBottom": _EDGE,
        "minLastJustification": 0.8,
    }
    options |= _WRITING if writing else _SUNG[printed.name]
    toolkit.setOptions(options | dict(printed.engraver))
    return toolkit


def _load(toolkit: verovio.toolkit, text: str, options: dict[str, Any]) -> None:
    toolkit.setOptions(options)
    if not toolkit.loadData(text):
        raise OutputError(
            "the engraver cannot read the score",
            way_out="this is a defect of neckwise; please report it with the file",
        )


def _natural(svg: str) -> tuple[float, list[float]]:
    """Return the width of clef and key, and each measure's without them, in drawing units."""
    root = etree.fromstring(svg.encode(), etree.XMLParser(huge_tree=True))
    rows = [staves(one) for one in groups(root, "measure")]
    # A tab's lines have gaps, and its staves end where the widest of their pieces does.
    spans = [[span for staff in row if isfinite((span := ends(staff))[1])] for row in rows]
    edges = [(min(a for a, _ in row), max(b for _, b in row)) if row else (0, 0) for row in spans]
    widths = [right - left for left, right in edges]
    first = _first_x(rows[0][0]) if rows and rows[0] else None
    head = 0.0 if first is None else max(0.0, first - edges[0][0] - lengths.HEAD_TO_NOTE)
    if widths:
        widths[0] = max(0.0, widths[0] - head)
    return head, widths


def _first_x(staff: etree._Element) -> float | None:
    """Return where the first sign or letter of a staff's first voice stands, tuplets' aside."""
    for layer in groups(staff, "layer"):
        for element in layer.iter(USE, TEXT):
            parent = element.getparent()
            if parent is None or parent.get("class") != "tupletNum":
                found = spot(element)
                return found.x if found else float(element.get("x", 0))
    return None
