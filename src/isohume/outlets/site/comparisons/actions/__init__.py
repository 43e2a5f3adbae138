"""What may be done with comparisons, one change a file."""
