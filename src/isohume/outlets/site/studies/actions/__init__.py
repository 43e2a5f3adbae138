"""What may be done with a study, one change a file."""
