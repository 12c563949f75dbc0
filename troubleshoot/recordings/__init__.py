"""Recorded runs turned into readings."""
