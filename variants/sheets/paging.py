"""Where pages end: the music of a whole handout over the fewest pages that are well filled.

A handout is a row of sections (a version, an exercise), each with a head, lines of music, and rows
that follow them (neck, grips, signs). Pages are chosen for all of them together, as total-fit
line breaking chooses lines (Knuth and Plass 1981; Plass 1981 for pages): the badness of a page is
the square of what stays empty, and the sum over the pages is the least.

::

    page 1  | head A   line  line  line  rows of A |
    page 2  | head B   line  line  rows of B  short head C   line  rows of C |
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

# What a page costs, so that fewer pages win; what empty paper costs on the way and at the end.
_PAGE, _EMPTY, _EMPTY_LAST = 1.0, 0.9, 0.25
# A page without music; a section that is cut though a page holds it.
_NO_MUSIC, _CUT = 8.0, 6.0
# A page that ends where no hand is free (common practice: turn at a rest).
_BUSY = 0.1
# One line of music alone on the last page of a section.
_LONELY = 0.2
# The signs are left to where they were explained before.
_UNSIGNED = 0.04
# No page is full to the last tenth of a millimetre: the typesetter rounds.
_ROUNDING_MM = 0.3


@dataclass(frozen=True, slots=True)
class Gap:
    """White between two things: the least and the most of it in millimetres."""

    least: float
    most: float


AFTER_HEAD = Gap(4.5, 9.0)
BETWEEN_LINES = Gap(4.0, 14.0)
BEFORE_ROW = Gap(5.0, 14.0)
BEFORE_SECTION = Gap(7.0, 20.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """A sheet as the choice of pages sees it; heights are millimetres.

    Args:
        head: Height of its head at the top of a page.
        short: The same lower on a page, below another section.
        lines: Heights of its lines of music.
        turns: For each line whether a hand is free after it.
        rows: Heights of what follows the music.
        unsigned: The same where the signs were explained before; ``None`` where they were not.
        is_apart: Whether it begins a page.
        between: White between its lines.
        may_cut: Whether it may go on over the page though one page holds it.
    """

    head: float
    short: float
    lines: tuple[float, ...]
    turns: tuple[bool, ...]
    rows: tuple[float, ...] = ()
    unsigned: tuple[float, ...] | None = None
    is_apart: bool = False
    between: Gap = BETWEEN_LINES
    may_cut: bool = False


@dataclass(frozen=True, slots=True)
class OnPage:
    """What stands on a page: a head, a line of music, or a row, and the white above it.

    Args:
        section: Index of its section.
        what: ``head``, ``short``, ``line``, ``row`` or ``unsigned``.
        index: Which line or row.
        gap: White above it in millimetres.
    """

    section: int
    what: str
    index: int
    gap: float


@dataclass(frozen=True, slots=True)
class Paged:
    """The pages that were chosen.

    Args:
        pages: What stands on each, from the top.
        badness: What they cost; less is better.
    """

    pages: tuple[tuple[OnPage, ...], ...]
    badness: float


@dataclass(frozen=True, slots=True)
class _Atom:
    """What no page cuts: a line of music, the last with what follows it, or a row alone."""

    section: int
    line: int = -1
    row: int = -1
    has_rows: bool = False
    is_first: bool = False
    is_last: bool = False


def choose_pages(sections: Sequence[Section], full: float, *, saves_paper: bool = False) -> Paged:
    """Return the pages of a handout.

    Args:
        sections: Its sections in order.
        full: Height of a page in millimetres, head and foot of the paper aside.
        saves_paper: Whether sections may be cut if that saves a page.

    A thing that is higher than any page has a page of its own.

    >>> one = Section(head=30, short=10, lines=(40, 40), turns=(True, True))
    >>> [len(page) for page in choose_pages([one, one], 240).pages]
    [6]
    """
    full -= _ROUNDING_MM
    atoms = [atom for index, one in enumerate(sections) for atom in _atoms(one, index, full)]
    fits = [_whole(one) <= full for one in sections]
    best: list[tuple[float, int]] = [(0.0, 0)] + [(float("inf"), 0)] * len(atoms)
    for end in range(1, len(atoms) + 1):
        for start in range(end - 1, -1, -1):
            page = _Page(sections, atoms[start:end], full)
            if page.is_overfull and end - start > 1:
                break
            cost = best[start][0] + page.badness(is_last=end == len(atoms))
            if end < len(atoms):
                cost += _break(sections, atoms[end - 1], fits, saves_paper=saves_paper)
            if cost < best[end][0]:
                best[end] = (cost, start)
            if sections[atoms[start].section].is_apart and atoms[start].is_first:
                break
    pages = []
    end = len(atoms)
    while end > 0:
        start = best[end][1]
        pages.append(tuple(_Page(sections, atoms[start:end], full).placed()))
        end = start
    return Paged(tuple(reversed(pages)), best[-1][0])


def _atoms(section: Section, index: int, full: float) -> Iterator[_Atom]:
    """Yield the atoms of a section; its rows are apart where no page holds them with a line."""
    count = len(section.lines)
    least = section.rows if section.unsigned is None else section.unsigned
    held = section.lines[-1] + sum(row + BEFORE_ROW.least for row in least)
    if count == 1:
        held += section.head + AFTER_HEAD.least
    together = held <= full
    for line in range(count):
        last = line == count - 1
        yield _Atom(
            index,
            line=line,
            has_rows=last and together,
            is_first=line == 0,
            is_last=last and (together or not section.rows),
        )
    for row in range(0 if together else len(section.rows)):
        yield _Atom(index, row=row, is_last=row == len(section.rows) - 1)


def _whole(section: Section) -> float:
    """Return the least height of a section on a page of its own."""
    least = section.rows if section.unsigned is None else section.unsigned
    music = sum(section.lines) + section.between.least * (len(section.lines) - 1)
    rows = sum(row + BEFORE_ROW.least for row in least)
    return section.head + AFTER_HEAD.least + music + rows


def _break(
    sections: Sequence[Section], atom: _Atom, fits: Sequence[bool], *, saves_paper: bool
) -> float:
    """Return what it costs that a page ends after an atom."""
    if atom.is_last:
        return 0.0
    section = sections[atom.section]
    cost = 0.0 if atom.line < 0 or section.turns[atom.line] else _BUSY
    if fits[atom.section]:
        cost += 2 * _BUSY if saves_paper or section.may_cut else _CUT
    return cost + _LONELY * (atom.line == len(section.lines) - 2)


class _Page:
    """Some atoms on one page: how much of it they take, and how well it is filled."""

    def __init__(self, sections: Sequence[Section], atoms: Sequence[_Atom], full: float) -> None:
        self.sections = sections
        self.full = full
        self.has_music = any(atom.line >= 0 for atom in atoms)
        self.unsigned: set[int] = set()
        self.parts = list(self._parts(atoms))
        # From the last section back, signs are left to where they stood before.
        for atom in reversed(atoms):
            if not self.is_overfull:
                break
            if atom.has_rows and sections[atom.section].unsigned is not None:
                self.unsigned.add(atom.section)
                self.parts = list(self._parts(atoms))

    def _parts(self, atoms: Sequence[_Atom]) -> Iterator[tuple[Gap, float, int, str, int]]:
        top = Gap(0.0, 0.0)
        for at, atom in enumerate(atoms):
            section = self.sections[atom.section]
            gap = section.between if at else top
            if atom.is_first:
                what, high = ("short", section.short) if at else ("head", section.head)
                yield BEFORE_SECTION if at else top, high, atom.section, what, 0
                gap = AFTER_HEAD
            if atom.line >= 0:
                yield gap, section.lines[atom.line], atom.section, "line", atom.line
            if atom.row >= 0:
                yield (
                    BEFORE_ROW if at else top,
                    section.rows[atom.row],
                    atom.section,
                    "row",
                    atom.row,
                )
            if atom.has_rows:
                left = section.unsigned if atom.section in self.unsigned else None
                what = "row" if left is None else "unsigned"
                for index, row in enumerate(section.rows if left is None else left):
                    yield BEFORE_ROW, row, atom.section, what, index

    @property
    def used(self) -> float:
        """Millimetres that everything takes with the least white between."""
        return sum(gap.least + high for gap, high, *_ in self.parts)

    @property
    def is_overfull(self) -> bool:
        """Whether it does not fit."""
        return self.used > self.full

    def badness(self, *, is_last: bool) -> float:
        """Return what the page costs, how it ends aside."""
        give = sum(gap.most - gap.least for gap, *_ in self.parts)
        empty = max(0.0, 1 - (self.used + give) / self.full)
        cost = _PAGE + (_EMPTY_LAST if is_last else _EMPTY) * empty**2
        return cost + _NO_MUSIC * (not self.has_music) + _UNSIGNED * len(self.unsigned)

    def placed(self) -> Iterator[OnPage]:
        """Yield what stands on the page, the white of the page shared among its gaps."""
        give = sum(gap.most - gap.least for gap, *_ in self.parts)
        share = min(1.0, max(0.0, self.full - self.used) / give) if give else 0.0
        for gap, _, section, what, index in self.parts:
            white = gap.least + share * (gap.most - gap.least)
            yield OnPage(section, what, index, round(white, 2))
