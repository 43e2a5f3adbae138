"""What may be done about lots at risk, one change a file."""
