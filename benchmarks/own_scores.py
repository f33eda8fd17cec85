"""Every law of `benchmarks.laws` held against the forty scores of `tests.own_scores`.

python -m benchmarks.own_scores            hold the laws, print what fails
python -m benchmarks.own_scores FOLDER     write the scores there as well
"""

from __future__ import annotations

import sys
from pathlib import Path

from benchmarks.laws import broken_laws
from tests.own_scores import own_scores


def main(folder: str = "") -> int:
    """Print which law which score breaks; return how many scores break one."""
    scores, broken = own_scores(), 0
    for name, data in scores.items():
        if folder:
            Path(folder).mkdir(parents=True, exist_ok=True)
            Path(folder, f"{name}.musicxml").write_bytes(data)
        faults = broken_laws(data)
        broken += bool(faults)
        print(f"{name}: {'holds' if not faults else ''}", flush=True)
        for law, text in faults:
            print(f"  {law}: {text}", flush=True)
    print(f"{len(scores) - broken} of {len(scores)} scores hold every law")
    return broken


if __name__ == "__main__":
    sys.exit(min(1, main(*sys.argv[1:])))
