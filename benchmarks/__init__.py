"""Measurements that are run by hand, and in CI in their quick form."""
