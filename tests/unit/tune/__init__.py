"""Tests of the tune."""
