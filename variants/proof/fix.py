"""Makes the corrections that leave no choice, and proves that no sound moved."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from lxml import etree

from variants.errors import InputError, NeckwiseError, OutputError
from variants.musicxml import LIMITS, FileLimits, read_raw
from variants.musicxml.reader import partwise
from variants.musicxml.source import parse, unpack
from variants.proof.engine import ProofReport, ProofSettings, proofread_tree
from variants.proof.finding import Finding

# A correction may show a fault that was hidden behind the one it mends; more rounds than this
# would mean that two corrections undo each other.
MOST_ROUNDS = 4
# Part, measure index, tick in quarters, height.
Sound = tuple[str, int, Fraction, int | Fraction]


@dataclass(frozen=True, slots=True)
class Fixed:
    """A file with its certain corrections made.

    Args:
        data: The new file; the old bytes when there was nothing to correct.
        made: The findings that were corrected, each with its ``fix``.
        report: What is found in the new file.
    """

    data: bytes
    made: tuple[Finding, ...]
    report: ProofReport


def fix_bytes(
    data: bytes,
    settings: ProofSettings | None = None,
    *,
    file: str = "",
    limits: FileLimits = LIMITS,
) -> Fixed:
    """Correct what can be corrected with certainty.

    Everything that is not corrected stays as it stands, line breaks and comments too.

    Raises:
        InputError: It is no score, damaged, past a limit, or so wrong that its sounds cannot be
            read, so that nothing could be proven.
        OutputError: A correction would move a sound. Nothing is written; it is a defect.
    """
    parse(data, limits)
    root = _keeping_tree(unpack(data, limits) if data[:2] == b"PK" else data)
    made: list[Finding] = []
    report = proofread_tree(root, settings, file=file)
    for _ in range(MOST_ROUNDS):
        done = _apply_fixes(report)
        if not done:
            break
        made += done
        report = proofread_tree(root, settings, file=file)
    if not made:
        return Fixed(data, (), report)
    new = _tree_bytes(root)
    _prove_sounds(data, new, limits)
    return Fixed(new, tuple(made), report)


def sounds(data: bytes, limits: FileLimits = LIMITS) -> list[Sound]:
    """Return every sounding note of a file in its order, tab and notation apart.

    Raises:
        InputError: It cannot be read.
    """
    score = read_raw(data, limits=limits, merge=False)
    return [
        (part.id, index, Fraction(event.onset, score.ticks), note.pitch.semitones)
        for part in score.parts
        for index, measure in enumerate(part.measures)
        for event in measure.events
        for note in event.notes
        if note.pitch is not None
    ]


def _apply_fixes(report: ProofReport) -> list[Finding]:
    done: list[Finding] = []
    seen: set[tuple[int, str]] = set()
    for finding, flaw in zip(report.findings, report.flaws, strict=True):
        if flaw.fix is None:
            continue
        # Two rules may ask for the same correction of one note.
        key = (id(flaw.element), flaw.fix.text)
        if key not in seen:
            seen.add(key)
            flaw.fix.apply()
            done.append(finding)
    return done


def _keeping_tree(data: bytes) -> etree._Element:
    parser = etree.XMLParser(
        resolve_entities=False, load_dtd=False, no_network=True, huge_tree=False
    )
    return partwise(etree.fromstring(data, parser))


def _tree_bytes(root: etree._Element) -> bytes:
    return etree.tostring(root.getroottree(), xml_declaration=True, encoding="UTF-8")


def _prove_sounds(before: bytes, after: bytes, limits: FileLimits) -> None:
    try:
        was = sounds(before, limits)
    except NeckwiseError as error:
        raise InputError(
            f"its sounds cannot be read, so that no correction could be proven ({error})",
            way_out="correct by hand what `neckwise proof` lists",
        ) from None
    now = sounds(after, limits)
    if was != now:
        moved = next((a for a, b in zip(was, now, strict=False) if a != b), None)
        place = f"part {moved[0]}, measure index {moved[1]}" if moved else "the end"
        raise OutputError(
            "a correction would move a sound",
            place=place,
            way_out="nothing is written; this is a defect of the proofreader, please report it",
        )
