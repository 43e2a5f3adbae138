"""Checks on reference solutions and the standing they give."""
