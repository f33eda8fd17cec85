"""Faults that a proofreader must find, put into good files one at a time."""
