"""Living uncertainty budgets: proposed from the laboratory's own data, with their effect shown before."""
