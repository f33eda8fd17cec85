"""Moves letters out of the way of what stands there already.

The engraver keeps tempo marks and fingers apart from the note heads, but not from one another,
nor from stems.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Hashable, Iterator, Mapping, Sequence
from dataclasses import replace

from lxml import etree

from variants.sheets import lengths
from variants.sheets.engraved import PATH, POLYLINE, USE, G, groups, numbers, spot
from variants.sheets.glyphs import glyph
from variants.sheets.lettering import Letter
from variants.sheets.signs import CIRCLED

# Words that give way, the first that do first; what is not named stays where it is.
_YIELD = {"dir": 1, "position": 2, "harm": 3, "tempo": 4, "reh": 5}
_AT_STEMS = frozenset({"fing", "pluck"})
# Drawings that stand above a staff with its words, and go up with them.
_ABOVE = ("fermata", "bracketSpan", "octave", "hairpin", "dynam", "trill")
_LINE_HEADS = ("clef", "keySig", "meterSig")
# Left, top, right, bottom.
Box = tuple[float, float, float, float]
# A stem: its place across the line, its upper and its lower end.
Stem = tuple[float, float, float]
# Height of one finger in a pile: letters have room above them that figures do not need.
_PILE = 0.92
# How much further a circle reaches than a figure, as a share of the figure's room in a pile.
_CIRCLE = 0.2
# How large the figure of a tuplet under a lone tab is, as the engraver has it.
_FIGURE_SCALE = 0.72


class Settling:
    """Moves the letters of one drawing.

    Args:
        letters: The letters; replaced by what they become.
        groups: The shapes of each.
        reach: Heights of the topmost and of the lowest line of the staves.
    """

    def __init__(
        self, letters: list[Letter], groups: Sequence[etree._Element], reach: tuple[float, float]
    ) -> None:
        self.letters = letters
        self.ceiling, self.floor = reach
        self.groups = groups
        self.moves: dict[int, tuple[float, float]] = {}
        # The figures of one moment on one side of its staff, and whether that is above.
        self.piles: list[tuple[list[int], bool]] = []

    def settle(
        self,
        stems: Sequence[Stem],
        tab_stems: Sequence[Stem],
        heads: Mapping[str, tuple[Hashable, float]],
    ) -> tuple[float, float]:
        """Move what must be moved.

        Args:
            stems: Where the stems of notes are, from left to right.
            tab_stems: Where the stems over a tab are.
            heads: For each id of a note head its moment and its height.

        Returns:
            The heights of the topmost and of the lowest letter.
        """
        self._in_order(heads)
        self._beside(stems)
        self._off_tuplets()
        self._lift_brackets()
        if tab_stems:
            self._restack(tab_stems)
        self._apart(tab_stems)
        for index, (right, down) in self.moves.items():
            group = self.groups[index]
            parent = group.getparent()
            # The box around a rehearsal mark goes with its letter.
            boxed = self.letters[index].kind == "reh" and parent is not None
            moved = parent if boxed and parent is not None else group
            moved.set("transform", f"translate({right:.1f},{down:.1f})")
        tops = [letter.box[1] for letter in self.letters] or [0.0]
        feet = [letter.box[3] for letter in self.letters] or [0.0]
        return min(tops), max(feet)

    def _move(self, index: int, right: float, down: float) -> None:
        x, y = self.moves.get(index, (0.0, 0.0))
        self.moves[index] = (x + right, y + down)
        left, top, end, bottom = self.letters[index].box
        box = (left + right, top + down, end + right, bottom + down)
        self.letters[index] = replace(self.letters[index], box=box)

    def _in_order(self, heads: Mapping[str, tuple[Hashable, float]]) -> None:
        """Pile up the figures of a moment on each side in the order of its heads.

        The engraver piles them up as they come, the first one nearest to the staff, and puts those
        of heads beside one another so too, which no eye can tell apart.
        """
        piles: dict[tuple[Hashable, bool], list[int]] = {}
        for index, letter in enumerate(self.letters):
            if letter.id in heads and letter.kind in _AT_STEMS:
                moment, height = heads[letter.id]
                piles.setdefault((moment, letter.box[1] < height), []).append(index)
        for (_, above), pile in piles.items():
            self.piles.append((pile, above))
            if len(pile) > 1:
                self._ordered(pile, heads, above=above)

    def _ordered(
        self, pile: list[int], heads: Mapping[str, tuple[Hashable, float]], *, above: bool
    ) -> None:
        """Put one pile in order: fingers nearest to the heads, then plucking, then strings."""
        columns: dict[int, list[Box]] = {}
        for index in pile:
            box = self.letters[index].box
            columns.setdefault(round((box[0] + box[2]) / 2), []).append(box)
        middle = max(columns, key=lambda x: len(columns[x]))
        if above:
            base = min(max(box[3] for box in column) for column in columns.values())
        else:
            base = max(min(box[1] for box in column) for column in columns.values())

        def rank(index: int) -> tuple[int, float]:
            letter = self.letters[index]
            kind = 2 if letter.text in CIRCLED else letter.kind == "pluck"
            height = heads[letter.id][1]
            return kind, -height if above else height

        gap = lengths.STEM_GAP if above else -lengths.STEM_GAP
        self._pile(middle, sorted(pile, key=rank), base + gap, above=above)

    def _beside(self, stems: Sequence[Stem]) -> None:
        """Move piles of fingers sideways from the stems that they stand at."""
        for pile, _ in self.piles:
            shift = max((self._off_stems(index, stems) for index in pile), key=abs)
            for index in pile if shift else ():
                self._move(index, shift, 0.0)

    def _off_stems(self, index: int, stems: Sequence[Stem]) -> float:
        """Return how far to the right a letter is clear of the stems at it."""
        left, top, right, bottom = self.letters[index].box
        shift = 0.0
        for x, high, low in stems[bisect_left(stems, (left - lengths.STEM_GAP,)) :]:
            if x > right + lengths.STEM_GAP:
                break
            if high < bottom - lengths.STEM_TOUCH and low > top + lengths.STEM_TOUCH:
                middle = (left + right) / 2
                shift = x - lengths.STEM_GAP - right if x > middle else x + lengths.STEM_GAP - left
        return shift

    def _off_tuplets(self) -> None:
        """Move figures away from those of tuplets: beside one another they read as a number."""
        figures = self._tuplet_figures()
        for pile, above in self.piles if figures else ():
            letters = [self.letters[index] for index in pile]
            if above:
                shift = -max(clear(letter, figures) for letter in letters)
                free = shift > -lengths.MOST_UP
            else:
                shift = max(_under(letter, figures) for letter in letters)
                free = shift < lengths.MOST_DOWN and not self._meets(pile, shift)
            for index in pile if shift and free else ():
                self._move(index, 0.0, shift)

    def _meets(self, pile: list[int], down: float) -> bool:
        """Whether a pile that is moved down comes upon another letter."""
        boxes = [self.letters[index].box for index in pile]
        moved = [(left, top + down, right, foot + down) for left, top, right, foot in boxes]
        others = [one.box for index, one in enumerate(self.letters) if index not in pile]
        return any(_over(box, other) for box in moved for other in others)

    def _lift_brackets(self) -> None:
        """Move brackets and the words on them up as far as fingers are put above their place."""
        for index, letter in enumerate(self.letters):
            if letter.kind == "position":
                self._move(index, 0.0, -lengths.BRACKET_LIFT)
        for group in self._drawn("bracketSpan"):
            group.set("transform", f"translate(0,{-lengths.BRACKET_LIFT:.1f})")

    def _drawn(self, *kinds: str) -> Iterator[etree._Element]:
        """Yield the groups of the whole drawing that are of some kinds."""
        if self.groups:
            yield from groups(self.groups[0].getroottree().getroot(), *kinds)

    def _heads_of_lines(self) -> list[Letter]:
        """Return where clefs, key signatures and metres stand."""
        found = []
        for group in self._drawn(*_LINE_HEADS):
            for use in group.iter(USE):
                sign, at = glyph(_code(use)), spot(use)
                if sign is not None and at is not None:
                    left, foot = at.x + sign.left * at.scale, at.y - sign.bottom * at.scale
                    wide, high = sign.width * at.scale, sign.height * at.scale
                    found.append(Letter("", "", (left, foot - high, left + wide, foot), 0.0))
        return found

    def _tuplet_figures(self) -> list[Letter]:
        found = []
        for group in self._drawn("tupletNum"):
            for at in filter(None, map(spot, group.iter(USE))):
                left, right = at.x - lengths.FIGURE_LEFT, at.x + lengths.FIGURE_WIDE
                top, foot = at.y - lengths.FIGURE_HIGH, at.y + lengths.FIGURE_FOOT
                found.append(Letter("tuplet", "", (left, top, right, foot), 0.0))
        return found

    def _restack(self, stems: Sequence[Stem]) -> None:
        """Put the fingers of a tab that stands alone over its stems, chord by chord.

        The engraver takes them for larger than they are and leaves no room for the stems. Words
        and brackets above follow, so that what it kept apart stays apart.
        """
        columns = sorted(
            {(one.box[0] + one.box[2]) / 2 for one in self.letters if one.kind == "fret"}
        )
        # Where two voices share a tab, the engraver draws the stems of both under it.
        over = [stem for stem in stems if stem[1] < self.floor]
        foot = min((low for _, _, low in over), default=self.ceiling)
        before = [one.box[1] for one in self.letters if one.kind in _AT_STEMS]
        rows: dict[tuple[float, bool], list[int]] = {}
        for index, letter in enumerate(self.letters):
            if letter.kind in _AT_STEMS and columns:
                middle = (letter.box[0] + letter.box[2]) / 2
                column = min(columns, key=lambda x: abs(x + lengths.HEAD_SHIFT - middle))
                rows.setdefault((column, letter.box[3] < foot + lengths.STEM_GAP), []).append(index)
        under = self._level_tuplets()
        for (column, above), indices in rows.items():
            end = _ends(column, stems, foot, above=above)
            base = end if above else max(end, self.floor + under)
            indices.sort(key=lambda i: self.letters[i].box[3], reverse=above)
            self._pile(column, indices, base, above=above)
        after = [one.box[1] for one in self.letters if one.kind in _AT_STEMS]
        top = min((high for _, high, _ in over), default=foot)
        shift = min([*after, top]) - min([*before, foot])
        self._shift_words(shift, foot)

    def _level_tuplets(self) -> float:
        """Put the figures of a lone tab's tuplets in one row under it; return the row's height."""
        middles = {
            one.id: (one.box[0] + one.box[2]) / 2 for one in self.letters if one.kind == "fret"
        }
        under = lengths.UNDER_TAB
        for group in self._drawn("tupletNum"):
            use, tuplet = group.find(USE), group.getparent()
            notes = tuplet.iter(G) if tuplet is not None else ()
            columns = [middles[str(one.get("id"))] for one in notes if one.get("id") in middles]
            at = spot(use)
            if use is None or at is None or not columns or at.y < self.floor:
                continue
            x = (min(columns) + max(columns) - lengths.FIGURE_WIDE) / 2
            y = self.floor + lengths.UNDER_TAB / 2 + lengths.FIGURE_HIGH / 2
            scale = f"scale({_FIGURE_SCALE}, {_FIGURE_SCALE})"
            use.set("transform", f"translate({x:.1f},{y:.1f}) {scale}")
            under = lengths.UNDER_TAB + lengths.STEM_GAP
        return under

    def _pile(self, column: float, nearest: list[int], base: float, *, above: bool) -> None:
        """Put letters in a pile over or under a place, the nearest to it first."""
        at = base
        for index in nearest:
            left, top, right, bottom = self.letters[index].box
            height = (bottom - top) * _PILE
            if self.letters[index].text in CIRCLED:
                # A circle reaches further than the figure in it, up to the tail of a p.
                at += -height * _CIRCLE if above else height * _CIRCLE
            down = at - lengths.STEM_GAP - bottom if above else at + lengths.STEM_GAP - top
            self._move(index, column - (left + right) / 2, down)
            at += -height if above else height

    def _shift_words(self, down: float, foot: float) -> None:
        for index, letter in enumerate(self.letters):
            if letter.kind in _YIELD and letter.box[3] < foot:
                self._move(index, 0.0, down)
        for group in self._drawn(*_ABOVE):
            if _height(group) < foot:
                group.set("transform", f"translate(0,{down:.1f})")

    def _apart(self, stems: Sequence[Stem]) -> None:
        """Move words up until nothing stands where they stand, tab stems and beams included."""
        half = lengths.STEM_HALF
        order = sorted(range(len(self.letters)), key=lambda i: _YIELD.get(self.letters[i].kind, 0))
        placed = [Letter("", "", (x - half, high, x + half, low), 0.0) for x, high, low in stems]
        placed += self._heads_of_lines()
        for index in order:
            if self.letters[index].kind in _YIELD:
                tempo = self.letters[index].kind == "tempo"
                near = lengths.BESIDE_TEMPO if tempo else lengths.BESIDE
                up = clear(self.letters[index], placed, fingers=near)
                if up:
                    self._move(index, 0.0, -up)
            placed.append(self.letters[index])


def _ends(column: float, stems: Sequence[Stem], foot: float, *, above: bool) -> float:
    """Return where the stem of a column ends; for one without a stem, where stems begin."""
    here = [(high, low) for x, high, low in stems if abs(x - column) < lengths.STEM_NEAR]
    if above:
        return min((high for high, _ in here if high < foot), default=foot)
    return max((low for high, low in here if high >= foot), default=foot)


def _under(letter: Letter, figures: Sequence[Letter]) -> float:
    """Return how far down a letter must go to be under the figures of tuplets beside it."""
    near = [one.box[3] for one in figures if _near(one.box, letter.box)]
    return max(near) + lengths.APART - letter.box[1] if near else 0.0


def _near(figure: Box, box: Box) -> bool:
    """Whether a letter stands beside the figure of a tuplet, so that both are read as one."""
    across = figure[2] + lengths.BESIDE < box[0] or box[2] + lengths.BESIDE < figure[0]
    return not across and box[1] < figure[3] and figure[1] < box[3]


def _over(one: Box, two: Box) -> bool:
    across = min(one[2], two[2]) - max(one[0], two[0])
    down = min(one[3], two[3]) - max(one[1], two[1])
    return across > 0 and down > 0


def _height(group: etree._Element) -> float:
    """Return a height at which a group is drawn; far down if it cannot be told."""
    for shape in group.iter(USE, PATH, POLYLINE):
        found = numbers(shape.get("transform") or shape.get("d") or shape.get("points") or "")
        if len(found) > 1:
            return found[1]
    return float("inf")


def _code(use: etree._Element) -> int:
    """Return the code of the sign that is used."""
    return int(str(use.get("href")).removeprefix("#glyph-"), 16)


def clear(letter: Letter, placed: Sequence[Letter], *, fingers: float = lengths.BESIDE) -> float:
    """Return how far up a letter must go to be clear of those that are placed.

    Args:
        letter: The letter.
        placed: Those that stay.
        fingers: Nearer than this beside a finger, it is not clear of it.
    """
    nearest = {"tuplet": lengths.BESIDE_TUPLET, "fing": fingers}
    left, top, right, bottom = letter.box
    up = 0.0
    moved = True
    while moved:
        moved = False
        for other in placed:
            x1, y1, x2, y2 = other.box
            near = nearest.get(other.kind, lengths.BESIDE)
            is_beside = x2 + near < left or right + near < x1
            wanted = bottom - y1 + lengths.APART
            # Further up each time, or it would go on for ever where rounding leaves a trace.
            if not is_beside and top - up < y2 and up < wanted:
                up = wanted
                moved = True
    return up
