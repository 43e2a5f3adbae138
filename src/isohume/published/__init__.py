"""Printed tables and expected values, shipped as data with source and trust mark.

Only `validate`, the builders and the tests read this package: a number the code runs on is a constant beside
the code, so that a check against these tables never compares the code with itself.
"""
