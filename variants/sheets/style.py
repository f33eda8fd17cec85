"""Sizes of print: papers, the normal and the large print, and what follows from them.

Lengths on paper are millimetres, sizes of letters are points. The engraver counts in pixels of
which 72 are the height of a five-line staff, so one pixel is ``staff_mm / 72``; its drawings
count in tenths of that.
"""

from __future__ import annotations

from dataclasses import dataclass

from variants.errors import UsageError

MM_PER_POINT = 25.4 / 72
STAFF_PIXELS = 72.0
# Running text in ordinary print, to which what we draw ourselves is sized, and how much thicker
# its lines are.
USUAL_PT = 9.5
THICK = {"normal": 1.0, "large": 1.6}


@dataclass(frozen=True, slots=True)
class Paper:
    """A sheet of paper, upright, in millimetres."""

    name: str
    width_mm: float
    height_mm: float


# ISO 216 and ANSI/ASME Y14.1.
PAPERS = {
    "a4": Paper("a4", 210.0, 297.0),
    "letter": Paper("letter", 215.9, 279.4),
}


@dataclass(frozen=True, slots=True)
class Print:
    """How large things are printed.

    Args:
        name: ``normal`` or ``large``.
        staff_mm: Height of a five-line staff.
        landscape: Whether the paper lies on its long side.
        margin_mm: Margins of the page.
        text_pt: Running text.
        small_pt: The smallest text anywhere.
        title_pt: Title of a version.
        sizes_pt: Letters in the music by what they are for.
        bold: Weight of the letters in the music.
        fullness: How full a line may be, as a share of its width at natural spacing.
        engraver: Options of the engraver, in its own units.
    """

    name: str
    staff_mm: float
    landscape: bool
    margin_mm: float
    text_pt: float
    small_pt: float
    title_pt: float
    sizes_pt: tuple[tuple[str, float], ...]
    bold: int
    fullness: float
    engraver: tuple[tuple[str, float], ...]

    @property
    def mm_per_pixel(self) -> float:
        """Millimetres on paper of one pixel of the engraver."""
        return self.staff_mm / STAFF_PIXELS

    def units(self, points: float) -> float:
        """Return a size of letters in the units of the engraver's drawings."""
        return points * MM_PER_POINT / self.mm_per_pixel * 10

    def size_pt(self, what: str) -> float:
        """Return the size of one kind of letters in the music."""
        return dict(self.sizes_pt).get(what, self.text_pt)

    def page_mm(self, paper: Paper) -> tuple[float, float]:
        """Return width and height of a page as it is held."""
        if self.landscape:
            return paper.height_mm, paper.width_mm
        return paper.width_mm, paper.height_mm

    def content_mm(self, paper: Paper) -> float:
        """Return the width between the margins."""
        return self.page_mm(paper)[0] - 2 * self.margin_mm


# Orchestra librarians: a staff of 7.5 mm is best, under 7 is not acceptable, over 8.5 to be
# avoided in ordinary print (MOLA 2017).
_NORMAL = Print(
    name="normal",
    staff_mm=7.5,
    landscape=False,
    margin_mm=14.0,
    text_pt=USUAL_PT,
    small_pt=7.5,
    title_pt=21.0,
    sizes_pt=(
        ("fret", 9.5),
        ("fing", 8.5),
        ("pluck", 9.0),
        ("lyric", 9.5),
        ("harm", 11.0),
        ("dir", 9.0),
        ("position", 9.0),
        ("tempo", 10.0),
        ("reh", 11.0),
        ("number", 8.0),
        ("label", 9.0),
        ("other", 9.0),
    ),
    bold=600,
    fullness=1.0,
    engraver=(
        ("spacingStaff", 9),
        ("spacingBraceGroup", 8),
        ("spacingLinear", 0.27),
        ("spacingNonLinear", 0.6),
        ("staffLineWidth", 0.13),
        ("stemWidth", 0.18),
        ("barLineWidth", 0.24),
        ("fingeringScale", 0.75),
        ("lyricSize", 4.2),
        ("measureMinWidth", 15),
    ),
)
# Modified stave notation, the practice of libraries for blind and partially sighted people
# (rnib.org.uk): vertical room grows more than horizontal, fingering more than note heads, lines
# are thicker, letters bold and without serifs, the sheet lies on its long side. It is no plain
# enlargement: note for note the music needs less width in staff heights than in normal print.
_LARGE = Print(
    name="large",
    staff_mm=11.5,
    landscape=True,
    margin_mm=13.0,
    text_pt=16.0,
    small_pt=14.0,
    title_pt=30.0,
    sizes_pt=(
        ("fret", 18.0),
        ("fing", 18.0),
        ("pluck", 17.0),
        ("lyric", 17.0),
        ("harm", 19.0),
        ("dir", 16.0),
        ("position", 17.0),
        ("tempo", 17.0),
        ("reh", 18.0),
        ("number", 14.0),
        ("label", 15.0),
        ("other", 16.0),
    ),
    bold=700,
    # The letters are wider than the engraver's own, for which it leaves room.
    fullness=0.86,
    engraver=(
        ("spacingStaff", 11),
        ("spacingBraceGroup", 9),
        ("spacingLinear", 0.2),
        ("spacingNonLinear", 0.55),
        ("staffLineWidth", 0.22),
        ("stemWidth", 0.34),
        ("barLineWidth", 0.42),
        ("ledgerLineThickness", 0.36),
        ("tieMidpointThickness", 0.85),
        ("slurMidpointThickness", 0.95),
        ("fingeringScale", 1.0),
        ("lyricSize", 5.0),
        ("measureMinWidth", 12),
    ),
)
PRINTS = {"normal": _NORMAL, "large": _LARGE}


def paper_named(name: str) -> Paper:
    """Return a paper by its name.

    Raises:
        UsageError: There is none.
    """
    if name not in PAPERS:
        raise UsageError(f"there is no paper {name!r}", way_out=f"use {' or '.join(PAPERS)}")
    return PAPERS[name]


def print_named(name: str) -> Print:
    """Return a size of print by its name.

    Raises:
        UsageError: There is none.
    """
    if name not in PRINTS:
        raise UsageError(f"there is no print size {name!r}", way_out=f"use {' or '.join(PRINTS)}")
    return PRINTS[name]
