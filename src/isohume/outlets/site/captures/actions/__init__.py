"""What may be done with bench agents and captured runs, one change a file."""
