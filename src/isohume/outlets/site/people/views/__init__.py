"""The pages of the people app."""
