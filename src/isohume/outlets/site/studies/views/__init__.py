"""The pages of the studies app."""
