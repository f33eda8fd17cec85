"""The front door: what another program needs, each in one call, in the words of the command.

`variants` and `neckwise` show what stands here; everything else is private to its package. Heavy
libraries are imported where they are used.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import IO, TYPE_CHECKING, Literal, TypedDict, Unpack

from variants.errors import NeckwiseError, UsageError
from variants.limits import LIMITS, FileLimits

if TYPE_CHECKING:
    from variants.fingering.every_way import Way
    from variants.levels import Fit, NoFit
    from variants.pins import Pin
    from variants.proof import ProofReport
    from variants.score import Score
    from variants.songset.build import Summary
    from variants.steps import Step
    from variants.variant import Variant, Wishes

Source = str | os.PathLike[str] | bytes | IO[bytes] | IO[str]


class PlayerOptions(TypedDict, total=False):
    """How a variant is made, its steps aside: the options of the command, by the same words.

    Each may be left out. ``capo``, ``frets`` and ``position`` are numbers of frets, ``marks`` what
    is printed beside the notes, ``pins`` a file of pins, ``places`` and ``thumb`` yes or no, the
    others texts; ``neckwise vary --help`` says what each means.
    """

    staves: Literal["both", "notation", "tab"]
    marks: Sequence[str]
    places: bool
    tuning: str
    capo: int | None
    frets: int | None
    scale: str
    part: str
    reading: Literal["auto", "guitar", "concert"]
    fingering: Literal["keep", "fill", "new"]
    pins: str | os.PathLike[str]
    hand: str
    fingers: str
    thumb: bool
    open_strings: Literal["usual", "prefer", "avoid", "allow"]
    convention: Literal["own-fret", "classical", "one-two-four"]
    dyads: Literal["either", "one-finger", "two"]
    hold_chords: Literal["usual", "always", "never"]
    position: int | None


def read(source: Source, *, name: str = "", tune: str = "", limits: FileLimits = LIMITS) -> Score:
    r"""Read a score: MusicXML, compressed or not, ABC, kern, MIDI or MEI.

    A plain treble clef is settled later, by whatever makes something of the score: it sounds an
    octave lower for a guitar.

    Args:
        source: A path, bytes, an open file, or the text itself (which has a line break or begins
            with ``<``, as no path does).
        name: Name of the file where the source is none: its ending tells the notation, which is
            else taken from its first bytes.
        tune: Number of the tune that is meant, in an ABC file that holds several.
        limits: What it may cost.

    Raises:
        InputError: It cannot be read; says where, why, and what to do.

    >>> read("X:1\nT:Up\nM:4/4\nL:1/4\nK:C\nCDEF|]\n").title
    'Up'
    """
    from variants.convert import format_of, read_other, sniffed
    from variants.musicxml import read_raw

    data, name = _bytes_of(source, name, limits)
    try:
        kind = format_of(name) or sniffed(data)
        if kind is not None:
            return read_other(data, kind, name=name, tune=tune, limits=limits)
        return read_raw(data, limits=limits)
    except NeckwiseError as error:
        raise (error.at(name) if name else error) from None


def _bytes_of(source: Source, name: str, limits: FileLimits) -> tuple[bytes, str]:
    from variants.musicxml.source import load

    if isinstance(source, bytes):
        return source, name
    if isinstance(source, str) and ("\n" in source or source.lstrip().startswith("<")):
        return source.encode(), name
    if isinstance(source, str | os.PathLike):
        return load(Path(source), limits), name or str(source)
    # One more than the limit: whatever reads it will say that it is too large.
    found = source.read(limits.file_bytes + 1)
    data = found.encode() if isinstance(found, str) else found
    if len(data) > limits.file_bytes:
        raise UsageError(
            f"the open file holds more than {limits.file_bytes} bytes", way_out="split the score"
        )
    return data, name or str(getattr(source, "name", ""))


def write(
    made: Score | Variant,
    target: str | os.PathLike[str] | IO[bytes],
    *,
    staves: Literal["both", "notation", "tab"] = "both",
    places: bool = False,
    force: bool = False,
) -> None:
    """Write MusicXML, whole or not at all; what is written was read again and is the same.

    Args:
        made: A score, or a variant.
        target: A path that ends in .musicxml, .xml or .mxl, or a file that is open for bytes.
        staves: Staves of a part that is for guitar.
        places: Write string and fret on a notation staff that stands alone.
        force: Write over a file that neckwise did not write.

    Raises:
        OutputError: It cannot be written, or must not be.
    """
    from variants.files import check_free, telling, write_file
    from variants.variant import Variant, written

    score = made.score if isinstance(made, Variant) else made
    if not isinstance(target, str | os.PathLike):
        target.write(written(score, staves=staves, places=places))
        return
    path = Path(target)
    data = written(score, staves=staves, places=places, mxl=path.suffix.lower() == ".mxl")
    check_free(path, str(path), force=force)
    with telling(path):
        write_file(path, data)


def wishes(**options: Unpack[PlayerOptions]) -> Wishes:
    """Return options as the library takes them.

    Raises:
        UsageError: A name or a number that there is not; the way out says what there is.
    """
    from variants.fingering import Settings, parse_fingers
    from variants.finish import MARKS
    from variants.guitar import parse_hand, parse_tuning
    from variants.marks import parse_marks
    from variants.prepare import Strings, parse_scale_length
    from variants.variant import Wishes

    unknown = sorted(options.keys() - PlayerOptions.__annotations__.keys())
    if unknown:
        known = ", ".join(PlayerOptions.__annotations__)
        raise UsageError(f"there is no option {unknown[0]!r}", way_out=f"there are {known}")
    tuning, scale = options.get("tuning", ""), options.get("scale", "")
    if tuning:
        parse_tuning(tuning)
    return Wishes(
        part=options.get("part", ""),
        reading=options.get("reading", "auto"),
        strings=Strings(
            tuning=tuning,
            capo=options.get("capo"),
            frets=options.get("frets"),
            scale_length_mm=parse_scale_length(scale) if scale else None,
        ),
        fingering=options.get("fingering", "keep"),
        pins=_pins_of(options.get("pins", "")),
        marks=parse_marks(options.get("marks") or MARKS),
        has_tab=options.get("staves", "both") != "notation",
        places=options.get("places", False),
        settings=Settings(
            hand=parse_hand(options.get("hand", "medium")),
            fingers=parse_fingers(options.get("fingers", "1,2,3,4")),
            thumb=options.get("thumb", False),
            open_strings=options.get("open_strings", "usual"),
            convention=options.get("convention", "own-fret"),
            dyads=options.get("dyads", "either"),
            hold_chords=options.get("hold_chords", "usual"),
            position=options.get("position"),
        ),
    )


def _pins_of(file: str | os.PathLike[str]) -> tuple[Pin, ...]:
    if not file:
        return ()
    from variants.pins import read_pins

    return read_pins(os.fspath(file))


def vary(score: Score, *steps: str | Step, **options: Unpack[PlayerOptions]) -> Variant:
    r"""Run steps on a score, prove what each promises, finger the result.

    Args:
        score: As `read` gives it.
        steps: In the words of the command (``"transpose:interval=m3"``), or made in Python.
        options: See `PlayerOptions`.

    Raises:
        UsageError: A step or an option that there is not, or several parts could be meant.
        Refusal: A step cannot be applied, or no hand can play the result.
        ContractBroken: A step did not keep what it promises.

    >>> tune = read("X:1\nM:4/4\nL:1/4\nK:C\nCDEF|]\n")
    >>> [str(interval) for interval in [vary(tune, "transpose:interval=m3").interval]]
    ['m3']
    """
    from variants.steps import parse_step
    from variants.variant import make_variant

    made = [parse_step(one) if isinstance(one, str) else one for one in steps]
    return make_variant(score, made, wishes(**options))


def finger(score: Score, **options: Unpack[PlayerOptions]) -> Variant:
    """Find strings, frets and fingers for a score, and change nothing else; see `vary`.

    Raises:
        UsageError: An option that there is not, or several parts could be meant.
        Refusal: No hand can play it.
    """
    return vary(score, **options)


def ways(score: Score, **options: Unpack[PlayerOptions]) -> tuple[tuple[Way, Variant], ...]:
    """Return every really different way to play a score on the neck, the best first.

    Raises:
        UsageError: An option that there is not, or several parts could be meant.
        Refusal: No hand can play it.
    """
    from variants.playing import ways_to_play

    return ways_to_play(score, wishes(**options))


def fit(
    score: Score, level: str | os.PathLike[str], **options: Unpack[PlayerOptions]
) -> Fit | NoFit:
    """Find the version that meets a level and gives up least.

    Args:
        score: As `read` gives it.
        level: ``level-1`` to ``level-6``, or a level file of one's own (.toml).
        options: See `PlayerOptions`; without ``marks`` the level says what is printed.

    Returns:
        The version with what it gives up, or what stands in its way.

    Raises:
        UsageError: No such level or option, or several parts could be meant.
    """
    from variants.levels import Fitter, NoFit, load_level

    fitter = Fitter(score, wishes(**options), has_level_marks=not options.get("marks"))
    found = fitter.fits(load_level(os.fspath(level)))
    return found if isinstance(found, NoFit) else found[0]


def proofread(source: Source | Score | Variant) -> ProofReport:
    """Find what a careful proofreader finds in notation and tab.

    Args:
        source: A file or bytes as `read` takes them (another notation than MusicXML is proofread as
            the score that it is converted to), or a score, which is then written with both staves.

    Raises:
        InputError: It is no score, or damaged; whatever else is wrong is found.
    """
    from variants.proof import proofread_bytes
    from variants.score import Score
    from variants.variant import Variant, written

    if isinstance(source, Score | Variant):
        score = source.score if isinstance(source, Variant) else source
        return proofread_bytes(written(score, staves="both"))
    data, name = _bytes_of(source, "", LIMITS)
    return proofread_bytes(data, file=name)


def sheet(
    versions: Score | Variant | Iterable[Score | Variant],
    *,
    kind: Literal["pdf", "html"] = "pdf",
    names: Sequence[str] = (),
    paper: Literal["a4", "letter"] = "a4",
    size: Literal["normal", "large"] = "normal",
) -> bytes:
    """Return versions as a handout to print, or as a page to look at and to hear.

    Args:
        versions: Scores or variants, in order.
        kind: A PDF, or a page for a browser that needs no network.
        names: What stands under the title of each.
        paper: Paper of the PDF.
        size: Size of print; large follows large-print practice.

    Raises:
        UsageError: No version, or as many names as versions are not given.
        OutputError: The engraver or the typesetter fails.
    """
    from variants.levels.headlines import headlines
    from variants.prepare import Strings, prepare
    from variants.score import Score
    from variants.sheets import Look, Version, handout, ready
    from variants.sheets.review import review_page
    from variants.variant import Variant

    given = [versions] if isinstance(versions, Score | Variant) else list(versions)
    scores = [one.score if isinstance(one, Variant) else one for one in given]
    if names and len(names) != len(scores):
        raise UsageError(
            f"{len(names)} names for {len(scores)} versions", way_out="give one for each, or none"
        )
    kept = Strings(keep_places=True)
    placed = [ready(prepare(score, "auto", kept), staves="source") for score in scores]
    made = [
        Version(score=score, name=name, practises=headlines(score))
        for score, name in zip(placed, names or [""] * len(placed), strict=True)
    ]
    look = Look(paper=paper, size=size)
    return handout(made, look).pdf if kind == "pdf" else review_page(made, look).html


def build(
    file: str | os.PathLike[str],
    *,
    out: str | os.PathLike[str] = "",
    jobs: int = 1,
    force: bool = False,
) -> Summary:
    """Make every variant of every song of a set; only what changed is made again.

    Args:
        file: The set file.
        out: The output folder, if it is not the one that the set file names.
        jobs: Processes; with more than one, a script needs the usual guard of its main part.
        force: Write over outputs that somebody changed.

    Raises:
        UsageError: The set file has a fault, or another build is at work in the folder.
        OutputError: The system refuses, or the disk is full; what was made is kept.
    """
    from variants.songset.build import Options, Unwatched
    from variants.songset.build import build as build_set
    from variants.songset.executors import InProcess, Processes
    from variants.songset.opening import open_set

    opened = open_set(os.fspath(file), out=os.fspath(out))
    hands = lambda songs: Processes(min(jobs, songs)) if min(jobs, songs) > 1 else InProcess()  # noqa: E731
    return build_set(opened, Options(force=force), hands, Unwatched())


def step(text: str) -> Step:
    """Return the step that a text describes, as the command takes it.

    Raises:
        UsageError: Unknown step or parameter, or a value that it cannot have.

    >>> step("capo:fret=2")
    Capo(fret=2, sound='same')
    """
    from variants.steps import parse_step

    return parse_step(text)
