"""``python -m neckwise``: the command without its script."""

from __future__ import annotations

from .main import main

if __name__ == "__main__":
    main()
