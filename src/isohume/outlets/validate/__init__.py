"""The outside checks: every usable published row recomputed on the user's own installation.

One file per table: `*_checks.py` with `checks()` (rows that are a check) and `left_out()` (rows that are
none, with the reason); together they name every row of the table once.
"""
