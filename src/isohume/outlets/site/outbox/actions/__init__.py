"""What may be done with entries that waited, one change a file."""
