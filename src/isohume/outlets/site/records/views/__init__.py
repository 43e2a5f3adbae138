"""The pages of the records app."""
