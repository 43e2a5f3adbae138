"""Strata of a lot: the map of positions, the worst stratum, and plans for how many portions to take where."""
