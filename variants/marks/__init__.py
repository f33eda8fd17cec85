"""Marks that a player reads beside the notes: positions and barres."""

from variants.marks.positions import mark_positions, without_marks

__all__ = ["mark_positions", "without_marks"]
