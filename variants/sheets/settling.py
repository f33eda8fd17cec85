"""Moves letters out of the way of what stands there already.

The engraver keeps tempo marks and fingers apart from the note heads, but not from one another,
nor from stems.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Hashable, Mapping, Sequence
from dataclasses import replace

from lxml import etree

from variants.sheets.glyphs import glyph
from variants.sheets.lettering import SVG, Letter
from variants.sheets.signs import CIRCLED

# Words that give way, the first that do first; what is not named stays where it is.
_YIELD = {"dir": 1, "position": 2, "harm": 3, "tempo": 4, "reh": 5}
_APART_UNITS = 25.0
# A numeral close beside a finger would be read as one word with it.
_BESIDE_UNITS = 110.0
# The same beside the figure of a tuplet, which is as large as a finger, and beside the figures of
# a tempo mark.
_BESIDE_TUPLET = 330.0
_BESIDE_TEMPO = 420.0
_AT_STEMS = frozenset({"fing", "pluck"})
# Drawings that stand above a staff with its words, and go up with them.
_ABOVE = frozenset({"fermata", "bracketSpan", "octave", "hairpin", "dynam", "trill"})
_LINE_HEADS = frozenset({"clef", "keySig", "meterSig"})
# Left, top, right, bottom.
Box = tuple[float, float, float, float]
_MOST_DOWN = 420.0
# A stem: its place across the line, its upper and its lower end.
Stem = tuple[float, float, float]
_STEM_GAP = 90.0
_BRACKET_LIFT = 45.0
# The figure of a tuplet, from its lower left corner.
_FIGURE_WIDE, _FIGURE_HIGH = 215.0, 240.0
# Fingers below a staff are never moved through it.
_MOST_UP = 900.0
# The engraver centres the fingers of a tab as if a note head stood to the right of the stem.
_HEAD_SHIFT = 197.0
# Height of one finger in a pile: letters have room above them that figures do not need.
_PILE = 0.92
# Room under a tab for the figures of its tuplets.
_UNDER_TAB = 480.0


class Settling:
    """Moves the letters of one drawing.

    Args:
        letters: The letters; replaced by what they become.
        groups: The shapes of each.
        floor: Height of the lowest line of the lowest staff.
    """

    def __init__(
        self, letters: list[Letter], groups: Sequence[etree._Element], floor: float
    ) -> None:
        self.letters = letters
        self.floor = floor
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

        gap = _STEM_GAP if above else -_STEM_GAP
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
        for x, high, low in stems[bisect_left(stems, (left - _STEM_GAP,)) :]:
            if x > right + _STEM_GAP:
                break
            if high < bottom - 40 and low > top + 40:
                middle = (left + right) / 2
                shift = x - _STEM_GAP - right if x > middle else x + _STEM_GAP - left
        return shift

    def _off_tuplets(self) -> None:
        """Move figures away from those of tuplets: beside one another they read as a number."""
        figures = self._tuplet_figures()
        for pile, above in self.piles if figures else ():
            letters = [self.letters[index] for index in pile]
            if above:
                shift = -max(clear(letter, figures) for letter in letters)
                free = shift > -_MOST_UP
            else:
                shift = max(_under(letter, figures) for letter in letters)
                free = shift < _MOST_DOWN and not self._meets(pile, shift)
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
                self._move(index, 0.0, -_BRACKET_LIFT)
        root = self.groups[0].getroottree().getroot() if self.groups else None
        for group in root.iter(f"{{{SVG}}}g") if root is not None else ():
            if (group.get("class") or "").startswith("bracketSpan"):
                group.set("transform", f"translate(0,{-_BRACKET_LIFT:.1f})")

    def _heads_of_lines(self) -> list[Letter]:
        """Return where clefs, key signatures and metres stand."""
        found = []
        root = self.groups[0].getroottree().getroot() if self.groups else None
        for group in root.iter(f"{{{SVG}}}g") if root is not None else ():
            if group.get("class") not in _LINE_HEADS:
                continue
            for use in group.iter(f"{{{SVG}}}use"):
                sign = glyph(int(str(use.get("href"))[7:11], 16))
                numbers = _numbers(use.get("transform", ""))
                if sign is not None and len(numbers) > 2:
                    x, y, scale = numbers[:3]
                    left, foot = x + sign.left * scale, y - sign.bottom * scale
                    box = (left, foot - sign.height * scale, left + sign.width * scale, foot)
                    found.append(Letter("", "", box, 0.0))
        return found

    def _tuplet_figures(self) -> list[Letter]:
        found = []
        root = self.groups[0].getroottree().getroot() if self.groups else None
        for group in root.iter(f"{{{SVG}}}g") if root is not None else ():
            if group.get("class") != "tupletNum":
                continue
            for use in group.iter(f"{{{SVG}}}use"):
                numbers = _numbers(use.get("transform", ""))
                if len(numbers) > 1:
                    x, y = numbers[0], numbers[1]
                    box = (x - 30, y - _FIGURE_HIGH, x + _FIGURE_WIDE, y + 10)
                    found.append(Letter("tuplet", "", box, 0.0))
        return found

    def _restack(self, stems: Sequence[Stem]) -> None:
        """Put the fingers of a tab that stands alone over its stems, chord by chord.

        The engraver takes them for larger than they are and leaves no room for the stems. Words
        and brackets above follow, so that what it kept apart stays apart.
        """
        columns = sorted(
            {(one.box[0] + one.box[2]) / 2 for one in self.letters if one.kind == "fret"}
        )
        foot = min(low for _, _, low in stems)
        before = [one.box[1] for one in self.letters if one.kind in _AT_STEMS]
        rows: dict[tuple[float, bool], list[int]] = {}
        for index, letter in enumerate(self.letters):
            if letter.kind in _AT_STEMS and columns:
                middle = (letter.box[0] + letter.box[2]) / 2
                column = min(columns, key=lambda x: abs(x + _HEAD_SHIFT - middle))
                rows.setdefault((column, letter.box[3] < foot + _STEM_GAP), []).append(index)
        under = self._level_tuplets()
        for (column, above), indices in rows.items():
            end = _ends(column, stems, foot, above=above)
            base = end if above else max(end, self.floor + under)
            indices.sort(key=lambda i: self.letters[i].box[3], reverse=above)
            self._pile(column, indices, base, above=above)
        after = [one.box[1] for one in self.letters if one.kind in _AT_STEMS]
        top = min((high for _, high, _ in stems), default=foot)
        shift = min([*after, top]) - min([*before, foot])
        self._shift_words(shift, foot)

    def _level_tuplets(self) -> float:
        """Put the figures of a lone tab's tuplets in one row under it; return the row's height."""
        root = self.groups[0].getroottree().getroot() if self.groups else None
        middles = {
            one.id: (one.box[0] + one.box[2]) / 2 for one in self.letters if one.kind == "fret"
        }
        under = _UNDER_TAB
        for group in root.iter(f"{{{SVG}}}g") if root is not None else ():
            use = group.find(f"{{{SVG}}}use")
            if group.get("class") != "tupletNum" or use is None:
                continue
            tuplet = group.getparent()
            notes = tuplet.iter(f"{{{SVG}}}g") if tuplet is not None else ()
            columns = [middles[str(one.get("id"))] for one in notes if one.get("id") in middles]
            numbers = _numbers(use.get("transform", ""))
            if not columns or len(numbers) < 2 or numbers[1] < self.floor:
                continue
            x = (min(columns) + max(columns) - _FIGURE_WIDE) / 2
            y = self.floor + _UNDER_TAB / 2 + _FIGURE_HIGH / 2
            use.set("transform", f"translate({x:.1f},{y:.1f}) scale(0.72, 0.72)")
            under = _UNDER_TAB + _STEM_GAP
        return under

    def _pile(self, column: float, nearest: list[int], base: float, *, above: bool) -> None:
        """Put letters in a pile over or under a place, the nearest to it first."""
        at = base
        for index in nearest:
            left, top, right, bottom = self.letters[index].box
            height = (bottom - top) * _PILE
            down = at - _STEM_GAP - bottom if above else at + _STEM_GAP - top
            self._move(index, column - (left + right) / 2, down)
            at += -height if above else height

    def _shift_words(self, down: float, foot: float) -> None:
        for index, letter in enumerate(self.letters):
            if letter.kind in _YIELD and letter.box[3] < foot:
                self._move(index, 0.0, down)
        root = self.groups[0].getroottree().getroot() if self.groups else None
        for group in root.iter(f"{{{SVG}}}g") if root is not None else ():
            kind = (group.get("class") or "").split(" ")[0]
            if kind in _ABOVE and _height(group) < foot:
                group.set("transform", f"translate(0,{down:.1f})")

    def _apart(self, stems: Sequence[Stem]) -> None:
        """Move words up until nothing stands where they stand, tab stems and beams included."""
        order = sorted(range(len(self.letters)), key=lambda i: _YIELD.get(self.letters[i].kind, 0))
        placed = [Letter("", "", (x - 140, high, x + 140, low), 0.0) for x, high, low in stems]
        placed += self._heads_of_lines()
        for index in order:
            if self.letters[index].kind in _YIELD:
                tempo = self.letters[index].kind == "tempo"
                near = _BESIDE_TEMPO if tempo else _BESIDE_UNITS
                up = clear(self.letters[index], placed, fingers=near)
                if up:
                    self._move(index, 0.0, -up)
            placed.append(self.letters[index])


def _ends(column: float, stems: Sequence[Stem], foot: float, *, above: bool) -> float:
    """Return where the stem of a column ends; for one without a stem, where stems begin."""
    here = [(high, low) for x, high, low in stems if abs(x - column) < 150]
    if above:
        return min((high for high, _ in here if high < foot), default=foot)
    return max((low for high, low in here if high >= foot), default=foot)


def _under(letter: Letter, figures: Sequence[Letter]) -> float:
    """Return how far down a letter must go to be under the figures of tuplets beside it."""
    near = [one.box[3] for one in figures if _near(one.box, letter.box)]
    return max(near) + _APART_UNITS - letter.box[1] if near else 0.0


def _near(figure: Box, box: Box) -> bool:
    """Whether a letter stands beside the figure of a tuplet, so that both are read as one."""
    across = figure[2] + _BESIDE_UNITS < box[0] or box[2] + _BESIDE_UNITS < figure[0]
    return not across and box[1] < figure[3] and figure[1] < box[3]


def _over(one: Box, two: Box) -> bool:
    across = min(one[2], two[2]) - max(one[0], two[0])
    down = min(one[3], two[3]) - max(one[1], two[1])
    return across > 0 and down > 0


def _height(group: etree._Element) -> float:
    """Return a height at which a group is drawn; far down if it cannot be told."""
    for shape in group.iter(f"{{{SVG}}}use", f"{{{SVG}}}path", f"{{{SVG}}}polyline"):
        text = shape.get("transform") or shape.get("d") or shape.get("points") or ""
        numbers = _numbers(text)
        if len(numbers) > 1:
            return numbers[1]
    return float("inf")


def _numbers(text: str) -> list[float]:
    """Return the numbers of a transform or of the points of a shape."""
    return [float(one) for one in "".join(c if c in "-.0123456789" else " " for c in text).split()]


def clear(letter: Letter, placed: Sequence[Letter], *, fingers: float = _BESIDE_UNITS) -> float:
    """Return how far up a letter must go to be clear of those that are placed.

    Args:
        letter: The letter.
        placed: Those that stay.
        fingers: Nearer than this beside a finger, it is not clear of it.
    """
    nearest = {"tuplet": _BESIDE_TUPLET, "fing": fingers}
    left, top, right, bottom = letter.box
    up = 0.0
    moved = True
    while moved:
        moved = False
        for other in placed:
            x1, y1, x2, y2 = other.box
            near = nearest.get(other.kind, _BESIDE_UNITS)
            is_beside = x2 + near < left or right + near < x1
            wanted = bottom - y1 + _APART_UNITS
            # Further up each time, or it would go on for ever where rounding leaves a trace.
            if not is_beside and top - up < y2 and up < wanted:
                up = wanted
                moved = True
    return up
