"""What a pupil gets in the hand: engraving, handout, neck map, sound.

`engrave` draws the music one line at a time; `handout` makes a PDF of versions and exercises;
`neck_map` and `draw_grip` draw the neck; `to_midi` makes the sound, and `sounds` says what sounds
when, with the note head that it belongs to, for whatever follows the sound.
"""

from variants.performance.sounding import Sound, sounds
from variants.sheets.changes import ChangeReport, read_report, report_beside
from variants.sheets.engrave import Engraving, System, engrave
from variants.sheets.engraver_xml import Wants
from variants.sheets.exercises import EXERCISES, exercise, exercises
from variants.sheets.grips import Grip, draw_grip, grips_of
from variants.sheets.handout import Handout, Look, Sheet, Version, handout, print_sheets
from variants.sheets.legend import LegendEntry, legend
from variants.sheets.midi import to_midi
from variants.sheets.neckmap import Used, neck_map, places_used
from variants.sheets.one_drawing import one_drawing
from variants.sheets.ready import ready
from variants.sheets.svgtext import Picture

__all__ = [
    "EXERCISES",
    "ChangeReport",
    "Engraving",
    "Grip",
    "Handout",
    "LegendEntry",
    "Look",
    "Picture",
    "Sheet",
    "Sound",
    "System",
    "Used",
    "Version",
    "Wants",
    "draw_grip",
    "engrave",
    "exercise",
    "exercises",
    "grips_of",
    "handout",
    "legend",
    "neck_map",
    "one_drawing",
    "places_used",
    "print_sheets",
    "read_report",
    "ready",
    "report_beside",
    "sounds",
    "to_midi",
]
