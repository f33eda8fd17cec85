"""Lengths on the engraved page that we choose, in spaces of the staff, each with its reason.

A space is the distance of two lines of a staff, a quarter of its height (Gould, Behind Bars, 2011,
measures so too). The engraver counts in whole units of its own; `spaces` turns ours into them.
"""

from __future__ import annotations

UNITS_PER_SPACE = 180


def spaces(count: float) -> float:
    """Return a length in the engraver's units.

    >>> spaces(4)
    720.0
    """
    return float(round(count * UNITS_PER_SPACE))


# -- the drawing ----------------------------------------------------------------------------------
# Nothing stands nearer to the edge of a drawing.
EDGE = spaces(0.067)
# The engraver's own margin around a page, inside of which it measures.
MARGIN = spaces(0.222)
# A line of the tab stops so far before and after a fret number.
FRET_PAD = spaces(0.167)
# Dots of two staves are further apart than this, the two dots of one staff nearer.
DOTS_APART = spaces(2.778)
# How far a sign of the music font reaches from its origin at most, clefs aside.
SIGN_REACH = spaces(1.444)
# The G clefs reach further below theirs, with and without the 8 of a guitar (SMuFL, by code).
LOW_CLEFS = {"E050": spaces(2.7), "E052": spaces(4)}
# Grace notes whose heads are nearer than this are struck together.
ONE_COLUMN = spaces(0.833)
# From the end of clef, key and metre to the first head.
HEAD_TO_NOTE = spaces(1.111)

# -- letters --------------------------------------------------------------------------------------
# Between two letters that are not of one word.
APART = spaces(0.139)
# A numeral nearer beside a finger would be read as one word with it.
BESIDE = spaces(0.611)
# The same beside the figure of a tuplet, which is as large as a finger, and beside a tempo mark.
BESIDE_TUPLET = spaces(1.833)
BESIDE_TEMPO = spaces(2.333)
# Fingers under a staff give way to figures no further than this: they would leave their note.
MOST_DOWN = spaces(2.333)
# Fingers above are moved no further than this, or they would go through a staff.
MOST_UP = spaces(5)
# Between a stem and a letter at it.
STEM_GAP = spaces(0.5)
# A letter and a stem that share less of their height do not touch.
STEM_TOUCH = spaces(0.222)
# Half the room that a stem over a tab takes beside letters: its flag, or its beam.
STEM_HALF = spaces(0.778)
# A stem nearer than this to a column is its own.
STEM_NEAR = spaces(0.833)
# Brackets go up as far as fingers are put above the engraver's place for them.
BRACKET_LIFT = spaces(0.25)
# The engraver keeps fingers clear of stems but not of flags.
FINGER_LIFT = spaces(0.156)
# The figure of a tuplet: its size, and what it reaches left of and below its origin.
FIGURE_WIDE, FIGURE_HIGH = spaces(1.194), spaces(1.333)
FIGURE_LEFT, FIGURE_FOOT = spaces(0.167), spaces(0.056)
# The engraver centres the fingers of a tab as if a note head stood to the right of the stem.
HEAD_SHIFT = spaces(1.094)
# Room under a tab for the figures of its tuplets.
UNDER_TAB = spaces(2.667)

# -- words under a staff --------------------------------------------------------------------------
# From the lowest line to the syllables, as the engraver sets them.
SYLLABLES_BELOW = spaces(4)
# The same where plucking fingers stand between: to the last of them, and from it on.
PLUCKS_END = spaces(3.167)
UNDER_PLUCKS = spaces(2.667)
# The syllable of a rest begins so far before it, as one under a note does.
OUTDENT = spaces(0.333)
# Between two syllables.
SYLLABLE_GAP = spaces(0.389)
# Half the width of a rest of a beat or so.
HALF_REST = spaces(0.5)
# Half the width of a small note head.
HALF_HEAD = spaces(0.417)

# -- signs in the tab -----------------------------------------------------------------------------
# A slide keeps this distance from its fret numbers, and rises or falls so far from their middle.
SLIDE_GAP, SLIDE_RISE = spaces(0.222), spaces(0.389)
# Where a sign goes over the end of a line: how much before it ends, how long on the next.
OVER_END, OVER_START = spaces(0.333), spaces(2.778)
# An arc begins over the middle of its fret numbers, so much further in than their edges, and its
# top is so far above the higher one, with its bend above that and its letter on the bend.
ARC_IN, ARC_FOOT, ARC_TOP = spaces(0.556), spaces(0.75), spaces(1.167)
ARC_BEND, ARC_LETTER = spaces(0.444), spaces(0.333)
# The arrow of a bend: where it leaves its number, how far it goes to the right, how far above the
# tab it ends; its curve; its head; and the words over it.
BEND_FROM, BEND_OUT, BEND_TOP = spaces(0.111), spaces(1.389), spaces(1.444)
BEND_CURVE, BEND_KNEE, BEND_NECK = spaces(0.222), spaces(0.667), spaces(0.611)
ARROW_HALF, ARROW_LONG, BEND_WORDS = spaces(0.333), spaces(0.722), spaces(0.278)
# How thick these are drawn, in ordinary and in large print.
SIGN_THICK = {"normal": spaces(0.122), "large": spaces(0.189)}
# A line to write on, likewise.
BLANK_THICK = {"normal": spaces(0.089), "large": spaces(0.144)}
