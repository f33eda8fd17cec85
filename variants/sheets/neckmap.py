"""A map of the neck with the places that a piece uses, drawn for paper and for grey print.

The neck lies as the tab reads: nut at the left, string 1 on top. A ring is a place, the figure
in it the finger, the small figure beside it the order of first use. The home note (the tonic of
the key) is a black disc. Nothing is told by colour alone.

::

    E ---|---1----|---3----|--------      string 1
    B ---|---1----|--------|--------
         nut  |       |        o  <- landmark under the strings
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from variants.errors import Refusal
from variants.guitar.neck import DOUBLE_MARKED_FRETS, MARKED_FRETS, fret_mm
from variants.score import Instrument, Part, Place, Score, key_at_start
from variants.sheets.facts import signed
from variants.sheets.style import THICK, USUAL_PT, Print, print_named
from variants.sheets.svgtext import Picture, disc, line, number, picture, text

# Fewer frets than this are never shown: a map of one fret says little about where it is.
_LEAST_FRETS = 4
_GREY = "#bbb"
# A map whose lowest fret is above this leaves out what lies below, one fret aside.
_FAR_UP = 4
# Lengths of the drawing in millimetres, in ordinary print; all grow with the text.
# Between two strings: a ring and the figure beside it fit in between.
_GAP = 5.5
# From the edge to the nut: names of the strings at their place, rings of open strings, at theirs.
_HEAD, _NAMES, _OPEN = 17.5, 2.6, 7.0
# Above the first string, below the last, and to the feet of the numbers of frets there.
_TOP, _FOOT, _NUMBERS = 5.0, 7.2, 5.9
# A fret's width, the widest map, the most that it grows, and what is free beyond the last fret.
_FRET, _WIDEST, _MOST_GROWN, _BEYOND = 14.0, 120.0, 1.6, 3
_REST = 20
# Lines: nut, frets, the thinnest string and what the thickest has more, and the edge of a ring.
_NUT, _WIRE, _STRING, _STRINGS_MORE, _EDGE = 1.1, 0.28, 0.18, 0.34, 0.3
# A ring, as a share of the gap and at most; a landmark, as a share of it.
_RING, _MOST_RING, _LANDMARK = 0.42, 2.6, 0.2
# The figure beside a ring: how far from it, how high as a share of its radius, its halo.
_ORDER_GAP, _ORDER_UP, _HALO = 0.25, 0.28, 0.5
# Sizes of letters in points: least, in a ring for one and for two; and as shares of others.
_LEAST_PT, _RING_PT, _TWO_PT = 7.5, 8.5, 6.5
_NAMES_SHARE, _ORDER_SHARE = 1.06, 0.94
_PLAIN, _SEMIBOLD, _BOLD = 400, 600, 700


@dataclass(frozen=True, slots=True)
class Used:
    """A place that the piece uses.

    Args:
        place: String and fret.
        order: 1 for the place that is used first.
        fingers: The fingers that stop it, each once; ``0`` for the open string.
        name: Name of the note that sounds.
        is_home: Whether it is the tonic of the key.
    """

    place: Place
    order: int
    fingers: tuple[str, ...]
    name: str
    is_home: bool


def places_used(part: Part) -> tuple[Used, ...]:
    """Return the places that a part uses, in order of first use.

    Notes that begin together count from the lowest string up.
    """
    key = key_at_start(part)
    home = key.tonic if key is not None else ""
    fingers: dict[Place, list[str]] = {}
    names: dict[Place, str] = {}
    for place, finger, name in _struck(part):
        fingers.setdefault(place, [])
        names.setdefault(place, name)
        if finger and finger not in fingers[place]:
            fingers[place].append(finger)
    return tuple(
        Used(place, order, tuple(found), names[place], _letter(names[place]) == home)
        for order, (place, found) in enumerate(fingers.items(), 1)
    )


def _struck(part: Part) -> Iterator[tuple[Place, str, str]]:
    for measure in part.measures:
        moments: dict[int, list[tuple[Place, str, str]]] = {}
        for event in measure.events:
            for note in event.notes:
                if note.place is not None and note.pitch is not None and not event.is_cue:
                    here = moments.setdefault(event.onset, [])
                    here.append((note.place, note.finger, str(note.pitch)))
        for tick in sorted(moments):
            yield from sorted(moments[tick], key=lambda one: -one[0].string)


def _letter(name: str) -> str:
    return name.rstrip("-0123456789")


def neck_map(
    score: Score,
    *,
    part: int = 0,
    size: str = "normal",
    left_handed: bool = False,
    most_mm: float = 0.0,
) -> Picture:
    """Return the map of a part.

    Args:
        score: The score, with places.
        part: Which part, from 0.
        size: ``normal`` or ``large``.
        left_handed: Nut at the right, as a left-handed player sees the neck.
        most_mm: Widest that the drawing may be; 0 for no bound.

    Raises:
        Refusal: The part has no instrument, or no note of it has a place.
        UsageError: There is no such size.
    """
    chosen = score.parts[part]
    used = places_used(chosen)
    if chosen.instrument is None or not used:
        raise Refusal(
            "there is nothing to show on the neck",
            place=chosen.name or chosen.id,
            way_out="finger the piece first",
        )
    return NeckMap(chosen.instrument, used, print_named(size), left_handed, most_mm).draw(used)


class NeckMap:
    """The measures of one map, and its shapes."""

    def __init__(
        self,
        instrument: Instrument,
        used: tuple[Used, ...],
        printed: Print,
        left_handed: bool,  # noqa: FBT001 - private, one caller
        most_mm: float,
    ) -> None:
        frets = [one.place.fret for one in used if one.place.fret]
        highest = max(frets, default=0)
        lowest = min(frets, default=1)
        self.first = lowest - 2 if lowest > _FAR_UP else 0
        self.last = max(highest + 1, self.first + _LEAST_FRETS)
        self.instrument = instrument
        self.used = used
        self.left_handed = left_handed
        grow = printed.text_pt / USUAL_PT
        self.grow = grow
        self.pt = max(printed.small_pt, _LEAST_PT * grow) * _NAMES_SHARE
        self.gap = _GAP * grow
        self.head = _HEAD * grow
        self.thick = THICK[printed.name]
        count = self.last - self.first
        natural = min(_FRET * count + _REST, _WIDEST) * min(grow, _MOST_GROWN)
        self.width = min(natural, most_mm) if most_mm else natural
        self.top = _TOP * grow
        self.neck = self.width - self.head - _BEYOND

    def x(self, fret: float) -> float:
        """Return where a fret is, by equal temperament, within the frets that are shown."""
        low = fret_mm(self.first, scale_length_mm=1)
        high = fret_mm(self.last, scale_length_mm=1)
        share = (fret_mm(fret, scale_length_mm=1) - low) / (high - low)
        at = self.head + share * self.neck
        return self.width - at if self.left_handed else at

    def y(self, string: int) -> float:
        """Return where a string is."""
        return self.top + (string - 1) * self.gap

    def side(self, at: float) -> float:
        """Return a place in the head, mirrored for a left-handed player."""
        return self.width - at if self.left_handed else at

    def draw(self, shown: tuple[Used, ...]) -> Picture:
        """Return the picture with the rings of some places."""
        bottom = self.y(self.instrument.strings)
        shapes = [*self._landmarks(bottom), *self._frets(bottom), *self._strings()]
        for one in shown:
            # The review page finds the place that sounds by its name.
            name = f"{one.place.string}.{one.place.fret}"
            shapes += [f'<g class="place" data-place="{name}">', *self._place(one), "</g>"]
        height = bottom + _FOOT * self.grow
        frets = f"frets {self.first} to {self.last}"
        count = len(shown)
        title = f"Neck map: {count} {'place' if count == 1 else 'places'}, {frets}"
        return picture(
            shapes, width_mm=self.width, height_mm=height, title=title, alt=describe(shown)
        )

    def _landmarks(self, bottom: float) -> list[str]:
        capo = self.instrument.capo
        middle = (self.y(1) + bottom) / 2
        shapes = []
        for fret in range(self.first + 1, self.last + 1):
            real = fret + capo
            at = (self.x(fret - 1) + self.x(fret)) / 2
            landmark = real in MARKED_FRETS
            spots = [middle] if landmark else []
            if real in DOUBLE_MARKED_FRETS:
                spots = [middle - self.gap, middle + self.gap]
            shapes += [
                f'<circle cx="{number(at)}" cy="{number(spot)}" r="{number(self.gap * _LANDMARK)}" '
                f'fill="{_GREY}"/>'
                for spot in spots
            ]
            if landmark or fret == self.first + 1:
                weight = _BOLD if landmark else _PLAIN
                label = (at, bottom + _NUMBERS * self.grow)
                shapes.append(text(str(fret), label, points=self.pt, weight=weight))
        return shapes

    def _frets(self, bottom: float) -> list[str]:
        shapes = []
        top = self.y(1)
        for fret in range(self.first, self.last + 1):
            at = self.x(fret)
            width = (_NUT if fret == 0 else _WIRE) * self.thick
            shapes.append(line((at, top), (at, bottom), width_mm=width))
        if self.instrument.capo and self.first == 0:
            label = f"capo {self.instrument.capo}"
            under = (self.x(0), bottom + _NUMBERS * self.grow)
            shapes.append(text(label, under, points=self.pt, weight=_SEMIBOLD))
        return shapes

    def _strings(self) -> list[str]:
        shapes = []
        end = self.x(self.last)
        for string, pitch in enumerate(self.instrument.open_strings, 1):
            y = self.y(string)
            share = (string - 1) / max(1, self.instrument.strings - 1)
            width = (_STRING + _STRINGS_MORE * share) * self.thick
            shapes.append(line((self.x(self.first), y), (end, y), width_mm=width))
            name = signed(_letter(str(pitch)))
            at = (self.side(_NAMES * self.grow), y)
            shapes.append(text(name, at, points=self.pt, centred=True))
        return shapes

    def _place(self, one: Used) -> list[str]:
        fret = one.place.fret
        y = self.y(one.place.string)
        if fret == 0:
            x = self.side(self.head - _OPEN * self.grow)
        else:
            x = (self.x(fret - 1) + self.x(fret)) / 2
        radius = min(self.gap * _RING, _MOST_RING * self.grow)
        label = "/".join(one.fingers[:2]) or ("0" if fret == 0 else "")
        fill, ink = ("#000", "#fff") if one.is_home else ("#fff", "#000")
        points = (_RING_PT if len(label) < 2 else _TWO_PT) * self.grow
        shapes = [disc((x, y), radius_mm=radius, fill=fill, width_mm=_EDGE * self.thick)]
        if label:
            shapes.append(text(label, (x, y), points=points, weight=_BOLD, fill=ink, centred=True))
        if not one.order:
            return shapes
        small = (x + radius + _ORDER_GAP, y - radius * _ORDER_UP)
        shapes.append(
            text(
                str(one.order), small, points=self.pt * _ORDER_SHARE, anchor="start", halo_mm=_HALO
            )
        )
        return shapes


def caption(used: tuple[Used, ...], *, left_handed: bool = False) -> str:
    """Return the line under a map that says how it is read."""
    fingered = any(finger != "0" for one in used for finger in one.fingers)
    ring = (
        "Figure in the ring: finger (0 open)" if fingered else "Ring: a place that is used (0 open)"
    )
    words = [f"{ring}. Small figure: order of first use."]
    home = next((one for one in used if one.is_home), None)
    if home is not None:
        words.append(f"Black: the home note {signed(_letter(home.name))}.")
    if left_handed:
        words.append("Drawn for the left hand: the nut is at the right.")
    return " ".join(words)


def describe(used: tuple[Used, ...]) -> str:
    """Return the map in words, for those who do not see it."""
    lines = []
    for one in used:
        where = "open" if one.place.fret == 0 else f"fret {one.place.fret}"
        stopped = [finger for finger in one.fingers if finger != "0"]
        finger = f", finger {' or '.join(stopped)}" if stopped else ""
        home = ", home note" if one.is_home else ""
        lines.append(f"{one.order}: {one.name}, string {one.place.string} {where}{finger}{home}")
    return "; ".join(lines) + "."
