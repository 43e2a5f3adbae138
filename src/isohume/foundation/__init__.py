"""What everybody stands on: quantities, water, solutions of known water activity, metrology."""
