"""The pages of the comparisons app."""
