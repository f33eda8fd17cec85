"""Where phrases end: the program beside what the encoders of 7,800 folk songs wrote.

    python -m benchmarks.phrases          precision and recall on the half that was kept apart
    python -m benchmarks.phrases --fit    fit the weights on the other half and print them

The last note of a song ends a phrase for certain and is left out of every figure. The plain rule
beside ours: a phrase ends at a rest, and at a note longer than both of its neighbours.
"""

from __future__ import annotations

import argparse
import random
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from tests.oracles.essen import Song, agreement, ours, plain, songs
from variants.tune import gaps

REPORT = Path(__file__).with_name("phrases.md")
_SEED = 1
_RIDGE = 1e-3


def halves() -> tuple[list[Song], list[Song]]:
    """Return the half to fit on and the half to measure on, drawn by a fixed seed."""
    every = list(songs())
    random.Random(_SEED).shuffle(every)  # noqa: S311 - a seeded sample
    middle = len(every) // 2
    return every[:middle], every[middle:]


def fitted(fit_on: Sequence[Song]) -> tuple[dict[str, float], float]:
    """Return weights and bias of a logistic regression (Newton's method, a small ridge)."""
    import numpy as np

    rows = [row for song in fit_on for row in gaps.gap_features(song.line, song.grid)]
    names = list(rows[0])
    table: Any = np.array([[row[name] for name in names] for row in rows])
    wanted: Any = np.array([end for song in fit_on for end in song.ends[:-1]], dtype=float)
    mean, spread = table.mean(axis=0), table.std(axis=0) + 1e-9
    scaled = np.hstack([(table - mean) / spread, np.ones((len(table), 1))])
    weights: Any = np.zeros(scaled.shape[1])
    for _ in range(15):
        share = 1 / (1 + np.exp(-scaled @ weights))
        slope = scaled.T @ (share - wanted) / len(wanted) + 2 * _RIDGE * weights
        bend = (scaled * (share * (1 - share))[:, None]).T @ scaled / len(wanted)
        weights = weights - np.linalg.solve(bend + 2 * _RIDGE * np.eye(len(weights)), slope)
    raw = weights[:-1] / spread
    bias = float(weights[-1] - (raw * mean).sum())
    return {name: round(float(w), 3) for name, w in zip(names, raw, strict=True)}, round(bias, 3)


def main(arguments: Sequence[str] | None = None) -> int:
    """Fit or measure."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--fit", action="store_true")
    options = parser.parse_args(arguments)
    fit_on, measured = halves()
    if options.fit:
        weights, bias = fitted(fit_on)
        for name, weight in weights.items():
            print(f'    "{name}": {weight},')
        print("BIAS =", bias)
        return 0
    lines = [
        "# Where phrases end",
        "",
        (
            f"`python -m benchmarks.phrases`: {len(measured)} songs that the weights never saw, "
            f"{sum(sum(song.ends) - 1 for song in measured)} phrase ends (last notes left out)."
        ),
        "",
        "| | precision | recall | F1 |",
        "|---|---:|---:|---:|",
    ]
    for name, rule in (("rests and long notes", plain), ("ours", ours)):
        row = agreement(measured, rule)
        lines.append(f"| {name} | {row[0]:.3f} | {row[1]:.3f} | {row[2]:.3f} |")
    lines += [
        "",
        (
            "Published models on songs of the same collection reach an F1 of about .58 to .66 "
            "(Pearce, Müllensiefen and Wiggins, ISMIR 2008; figures from memory); their songs and "
            "measure are not exactly these."
        ),
        "",
    ]
    text = "\n".join(lines)
    print(text)
    REPORT.write_text(text, encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
