"""What may be done here, one change a file."""
