"""Whether every room names the same beat, over all files of music21's corpus and others given.

The widest domain of `tests.property.test_one_time`. Run by hand:
``python -m benchmarks.one_time [STRIDE] [FILE ...]``.
"""

from __future__ import annotations

import sys
from pathlib import Path

from tests.oracles.corpus_files import corpus_files, label
from tests.property.test_one_time import rooms_agree
from variants.errors import NeckwiseError
from variants.musicxml import read


def main(stride: int = 1, *files: str) -> int:
    """Print how many files agree and which do not; return how many do not."""
    paths = [(Path(name), name) for name in files] or [
        (path, label(path)) for path in corpus_files()[::stride]
    ]
    agreed, refused, wrong = 0, 0, 0
    for path, name in paths:
        try:
            rooms_agree(read(path))
            agreed += 1
        except NeckwiseError:
            refused += 1
        except (AssertionError, KeyError) as error:
            wrong += 1
            print(f"{name}: {type(error).__name__} {str(error).splitlines()[:1]}")
    print(f"{agreed} files agree, {wrong} do not, {refused} are refused")
    return wrong


if __name__ == "__main__":
    sys.exit(min(1, main(*(int(one) if one.isdigit() else one for one in sys.argv[1:]))))  # type: ignore[arg-type]
