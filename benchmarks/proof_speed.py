"""Speed of the proofreader on files of 100 measures.

Run as ``python -m benchmarks.proof_speed --files 1000``. Four kinds of pieces in turn, single
notes or chords, with and without a tab staff, each file another piece; the time is that of the
process, of everything from bytes to findings.
"""

from __future__ import annotations

import argparse
import sys
import time

from benchmarks.pieces import piece
from variants.proof import proofread_bytes

MEASURES = 100
KINDS = (
    ("single notes", False, False),
    ("chords", False, True),
    ("single notes and tab", True, False),
    ("chords and tab", True, True),
)
TARGET_FILES_A_SECOND = 20.0


def measure(files: int) -> dict[str, tuple[int, float, int]]:
    """Return for each kind of piece the files, the seconds, and the notes of one file."""
    proofread_bytes(piece(2, tab=True, chords=True))  # imports and rules are loaded once
    found: dict[str, tuple[int, float, int]] = {}
    for number in range(files):
        name, tab, chords = KINDS[number % len(KINDS)]
        data = piece(MEASURES, tab=tab, chords=chords, seed=number)
        start = time.process_time()
        report = proofread_bytes(data)
        seconds = time.process_time() - start
        assert report.is_clean, report.findings[:3]
        count, total, _ = found.get(name, (0, 0.0, 0))
        found[name] = (count + 1, total + seconds, data.count(b"</note>"))
    return found


def main(arguments: list[str] | None = None) -> int:
    """Print the table.

    Returns:
        0 when the target is met over all files.
    """
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--files", type=int, default=1000)
    found = measure(parser.parse_args(arguments).files)
    print("| 100 measures of | notes a file | files | ms a file | files a second |")
    print("|---|---:|---:|---:|---:|")
    for name, (count, seconds, notes) in found.items():
        each = seconds / count
        print(f"| {name} | {notes} | {count} | {1000 * each:.1f} | {1 / each:.1f} |")
    count = sum(one[0] for one in found.values())
    seconds = sum(one[1] for one in found.values())
    rate = count / seconds
    print(f"| **all** | | **{count}** | **{1000 * seconds / count:.1f}** | **{rate:.1f}** |")
    return 0 if rate >= TARGET_FILES_A_SECOND else 1


if __name__ == "__main__":
    sys.exit(main())
