"""Pages of captured runs."""
