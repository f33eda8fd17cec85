"""Two predictions of the same pieces, side by side: arrangement by arrangement, with intervals.

    python -m benchmarks.fingering_paired PIECES.jsonl BEFORE.jsonl [AFTER.jsonl]

A share of all labels is the share of whoever marked most: half of the labels are those of one
arrangement. Each line therefore says both, the share of the labels and the mean of the
arrangements (those with ten labels or more), and what chance there is in it: an interval of 95 in
100 over arrangements drawn again with replacement (the bootstrap, Efron 1979; percentiles of 4,000
draws, seeded). Of two predictions it is the difference on the same draws that counts.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import numpy.typing as npt

from benchmarks.fingering_data import STRONG, Piece, arrangement, finger_mark, read_pieces

_DRAWS, _SEED, _FEWEST = 4000, 20, 10
KINDS = ("strings", "fingers", "open kept")

Counts = npt.NDArray[np.float64]


def labels(note: Piece, guess: Piece) -> Iterator[tuple[str, bool]]:
    """Yield each label of a note and whether a guess agrees with it.

    A finger counts where the string is not contradicted; grace notes do not count.
    """
    if note.get("grace"):
        return
    if note["string"] is not None and note["string_src"] in STRONG:
        yield "strings", guess["string"] == note["string"]
    if note["string_src"] == "open":
        yield "open kept", guess["fret"] == 0
    if finger_mark(note) and note["string"] in {None, guess["string"]}:
        yield "fingers", guess["finger"] == finger_mark(note)


def by_arrangement(truth: list[Piece], predicted: Path) -> dict[str, Counts]:
    """Return for each kind of label (arrangement, right and all)."""
    found = {piece["id"]: piece["notes"] for piece in read_pieces(predicted)}
    pieces = [piece for piece in truth if piece["id"] in found]
    names = sorted({arrangement(piece["id"]) for piece in pieces})
    tables = {kind: np.zeros((len(names), 2)) for kind in KINDS}
    for piece in pieces:
        row = names.index(arrangement(piece["id"]))
        for note, guess in zip(piece["notes"], found[piece["id"]], strict=True):
            for kind, is_right in labels(note, guess):
                tables[kind][row] += (is_right, 1)
    return tables


def draws(arrangements: int) -> npt.NDArray[np.intp]:
    """Return arrangements drawn with replacement, a row for each draw."""
    return np.random.default_rng(_SEED).integers(0, arrangements, (_DRAWS, arrangements))


def pooled(table: Counts, rows: npt.NDArray[np.intp]) -> Counts:
    """Return the share of the labels in each draw."""
    sums = table[rows].sum(axis=1)
    share: Counts = sums[:, 0] / np.maximum(sums[:, 1], 1)
    return share


def alike(table: Counts, rows: npt.NDArray[np.intp]) -> Counts:
    """Return the mean of the arrangements with labels enough in each draw."""
    counts = table[:, 1] >= _FEWEST
    share = np.where(counts, table[:, 0] / np.maximum(table[:, 1], 1), 0.0)
    mean: Counts = share[rows].sum(axis=1) / np.maximum(counts[rows].sum(axis=1), 1)
    return mean


def interval(values: Counts) -> str:
    """Return the middle 95 in 100 of some draws.

    >>> interval(np.linspace(0.0, 1.0, 101))
    '[+0.025, +0.975]'
    """
    low, high = np.percentile(values, (2.5, 97.5))
    return f"[{low:+.3f}, {high:+.3f}]"


def lines(before: dict[str, Counts], after: dict[str, Counts] | None) -> Iterator[str]:
    """Yield the report."""
    for kind in KINDS:
        size = len(before[kind])
        rows, once = draws(size), np.arange(size)[None]
        for name, measure in (("labels", pooled), ("arrangements", alike)):
            old, new = before[kind], None if after is None else after[kind]
            head = f"{kind}, of {name}: {measure(old, once)[0]:.3f}"
            if new is None:
                yield f"{head} {interval(measure(old, rows))}"
                continue
            change = measure(new, once)[0] - measure(old, once)[0]
            spread = interval(measure(new, rows) - measure(old, rows))
            yield f"{head} -> {measure(new, once)[0]:.3f}, {change:+.3f} {spread}"


def main() -> None:
    """Print the report."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("truth", type=Path)
    parser.add_argument("before", type=Path)
    parser.add_argument("after", type=Path, nargs="?")
    args = parser.parse_args()
    truth = read_pieces(args.truth)
    after = by_arrangement(truth, args.after) if args.after else None
    print(*lines(by_arrangement(truth, args.before), after), sep="\n")


if __name__ == "__main__":
    main()
