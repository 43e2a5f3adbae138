"""The pages of the checks app."""
