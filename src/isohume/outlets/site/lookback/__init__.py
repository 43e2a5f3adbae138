"""Look-back after a failed check: which lots are at risk, how badly, and what is to be done about each."""
