"""An instrument of our own invention, for demonstrations and tests. Its lines are invented here, nobody's."""
