"""Runs as a bench agent brought them: taken in exactly once, assigned, accepted or void, and all accounted for."""
