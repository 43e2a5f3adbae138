"""Comparisons: instruments with each other, rounds of proficiency testing, precision and gauge studies."""
