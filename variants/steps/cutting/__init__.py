"""Measures taken apart, put into another order, and mended at their seams."""
