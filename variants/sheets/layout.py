"""The layout of a handout: lines, pages, staff size and signs as one problem of least badness.

What may give, within what readers accept: the size of the staves (7 to 8.5 mm, MOLA 2017), the
measures on a line, the white on a page, and where signs are explained. Lines are chosen for each
way (`breaks`), pages for the lines (`paging`); the way whose pages cost least is printed. Hard
and soft parts of such a choice as in Gourlay, "Spacing a line of music" (1987).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import product
from statistics import mean, median

from variants.score import Score
from variants.sheets.engrave import Engraving, PieceInWork, can_turn, starts_alike
from variants.sheets.engraver_xml import Prepared
from variants.sheets.paging import BETWEEN_LINES, Gap, Paged, Section, choose_pages
from variants.sheets.style import Print
from variants.sheets.svgtext import Picture

# Staves that are written on, in millimetres; measures on their lines; white between them.
WRITING_STAFF_MM = 9.0
WRITING_MEASURES = 2
_WRITING_LINES = Gap(5.0, 24.0)
# What a staff of another size costs in pages, and on each sheet fewer or more measures on a line.
_STAVES = {"normal": {7.5: 0.0, 7.0: 0.08, 8.0: 0.02, 8.5: 0.04}, "large": {11.5: 0.0, 10.5: 0.1}}
_FEWER = {0: 0.0, 1: 0.06, 2: 0.15}
_MORE = 0.03
# So many ways are engraved at most; the others are judged by the heights of the plain one.
_TRIED = 3
# Share of a page's height that one line of music may take beside head and foot, and alone.
_FIRST, _ALONE = 0.58, 0.78


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetToLay:
    """A sheet before it is laid out.

    Args:
        kind: ``reading``, ``version``, ``exercise`` or ``answer``.
        prepared: Its music for the engraver; ``None`` where pictures stand in its place.
        score: The same.
        pictures: What stands in place of music.
        head: Height of its head at the top of a page, in millimetres.
        short: The same lower on a page.
        rows: Heights of what follows its music.
        unsigned: The same without its signs; ``None`` where they must be explained.
        is_apart: Whether it begins a page.
    """

    kind: str
    prepared: Prepared | None
    score: Score
    pictures: tuple[Picture, ...] = ()
    head: float = 0.0
    short: float = 0.0
    rows: tuple[float, ...] = ()
    unsigned: tuple[float, ...] | None = None
    is_apart: bool = False


@dataclass(frozen=True, slots=True)
class _Way:
    """One way to set the music: staff in millimetres, measures on a line, and of the reading."""

    staff_mm: float
    most: int
    reading: int
    cost: float


class HandoutLayout:
    """Engraves the sheets of a handout and chooses its pages.

    Args:
        sheets: The sheets in order.
        printed: Size of print.
        width_mm: Width of a line.
        most: Most measures on a line; 0 lets the width decide.
        saves_paper: Whether least paper matters more than a restful page.
    """

    def __init__(
        self,
        sheets: Sequence[SheetToLay],
        *,
        printed: Print,
        width_mm: float,
        most: int,
        saves_paper: bool = False,
    ) -> None:
        self.sheets = list(sheets)
        self.printed = printed
        self.width_mm = width_mm
        self.most = most
        self.saves_paper = saves_paper
        self.works = {
            index: PieceInWork(one.prepared, one.score, printed)
            for index, one in enumerate(sheets)
            if one.prepared is not None
        }
        self.plain = _Way(printed.staff_mm, most, most, 0.0)
        self.engravings = self._engraved(self.plain)

    def fits(self, height_mm: float) -> bool:
        """Whether lines fit a page of a height: beside its head, alone, and most of them."""
        for engraving in self.engravings:
            heights = [system.height_mm / height_mm for system in engraving.systems]
            if heights and (
                heights[0] > _FIRST or max(heights) > _ALONE or median(heights) > _FIRST
            ):
                return False
        return True

    def chosen(self, full_mm: float) -> tuple[list[Engraving], Paged]:
        """Return the music and its pages.

        Args:
            full_mm: Height of a page, head and foot of the paper aside.
        """
        best, pages = self.engravings, self._paged(self._lines(self.engravings), full_mm)
        least = pages.badness
        ways = {way: self._estimated(way, full_mm) + way.cost for way in self._ways()}
        for way in sorted(ways, key=lambda way: (ways[way], way.cost))[:_TRIED]:
            if ways[way] >= least:
                break
            engravings = self._engraved(way)
            paged = self._paged(self._lines(engravings), full_mm)
            if paged.badness + way.cost < least:
                best, pages, least = engravings, paged, paged.badness + way.cost
        return best, pages

    def _ways(self) -> Iterator[_Way]:
        """Yield the ways that may be tried, the plain one among them."""
        staves = _STAVES[self.printed.name]
        steps = {0: 0.0} if not self.most else {-n: c for n, c in _FEWER.items() if self.most > n}
        if self.saves_paper and self.most:
            steps = {0: 0.0, 1: _MORE, 2: 2 * _MORE}
        count = sum(one.kind == "version" for one in self.sheets)
        has_reading = any(one.kind == "reading" for one in self.sheets)
        for (staff, one), (step, two) in product(staves.items(), steps.items()):
            for extra, three in steps.items() if has_reading else ((step, 0.0),):
                cost = one + two * count + three
                yield _Way(staff, self.most + step, self.most + extra, cost)
        if self.plain.staff_mm not in staves:
            yield self.plain

    def _set(self, kind: str, way: _Way) -> tuple[Print, int]:
        """Return the print and the most measures on a line of a kind of sheet."""
        if kind == "exercise":
            tall = max(self.printed.staff_mm, WRITING_STAFF_MM)
            return replace(self.printed, staff_mm=tall), WRITING_MEASURES
        if kind == "answer":
            return replace(self.printed, staff_mm=min(_STAVES[self.printed.name])), self.most
        most = way.reading if kind == "reading" else way.most
        return replace(self.printed, staff_mm=way.staff_mm), most

    def _starts(self, way: _Way) -> dict[int, list[int]]:
        """Return where the lines of music begin; of sheets that are set alike together."""
        groups: dict[tuple[float, int], list[int]] = {}
        for index in self.works:
            printed, most = self._set(self.sheets[index].kind, way)
            groups.setdefault((printed.staff_mm, most), []).append(index)
        found: dict[int, list[int]] = {}
        for (_, most), members in groups.items():
            printed, _ = self._set(self.sheets[members[0]].kind, way)
            starts = starts_alike(
                [self.works[index] for index in members],
                printed=printed,
                width_mm=self.width_mm,
                most_measures=most,
            )
            found |= dict(zip(members, starts, strict=True))
        return found

    def _engraved(self, way: _Way) -> list[Engraving]:
        found = [Engraving((), ()) for _ in self.sheets]
        for index, starts in self._starts(way).items():
            printed, _ = self._set(self.sheets[index].kind, way)
            found[index] = self.works[index].engraved(printed, self.width_mm, starts)
        return found

    def _lines(self, engravings: Sequence[Engraving]) -> list[list[tuple[float, bool]]]:
        """Return height and turn of each line; a picture is one."""
        return [
            [(system.height_mm, system.can_turn) for system in engraving.systems]
            + [(drawn.height_mm, True) for drawn in one.pictures]
            for one, engraving in zip(self.sheets, engravings, strict=True)
        ]

    def _estimated(self, way: _Way, full_mm: float) -> float:
        """Return what the pages of a way will cost; its lines are as high as those of the plain."""
        lines = self._lines(self.engravings)
        for index, starts in self._starts(way).items():
            one, engraving = self.sheets[index], self.engravings[index]
            new, _ = self._set(one.kind, way)
            old, _ = self._set(one.kind, self.plain)
            # Letters keep their size: about half of a line's height grows with its staves.
            grown = (1 + new.staff_mm / old.staff_mm) / 2
            part, ticks = one.score.parts[0], one.score.ticks
            ends = [*starts[1:], len(part.measures)]
            heights = [system.height_mm * grown for system in engraving.systems]
            if starts != [system.first for system in engraving.systems]:
                heights = [mean(heights)] * len(starts)
            lines[index] = [
                (high, can_turn(part, end - 1, ticks))
                for high, end in zip(heights, ends, strict=True)
            ]
        return self._paged(lines, full_mm).badness

    def _paged(self, lines: Sequence[Sequence[tuple[float, bool]]], full_mm: float) -> Paged:
        sections = [
            Section(
                head=one.head,
                short=one.short,
                lines=tuple(high for high, _ in own),
                turns=tuple(turn for _, turn in own),
                rows=one.rows,
                unsigned=one.unsigned,
                is_apart=one.is_apart,
                may_cut=one.kind == "answer",
                between=_WRITING_LINES if one.kind == "exercise" else BETWEEN_LINES,
            )
            for one, own in zip(self.sheets, lines, strict=True)
        ]
        return choose_pages(sections, full_mm, saves_paper=self.saves_paper)
