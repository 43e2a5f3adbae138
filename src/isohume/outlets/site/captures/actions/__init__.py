"""Changes of captured runs, one file a change."""
