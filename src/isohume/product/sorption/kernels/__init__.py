"""The compiled inner loops of sorption: projection, the separable least-squares solver, and the fits made of it."""
