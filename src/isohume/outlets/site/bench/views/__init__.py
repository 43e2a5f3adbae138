"""The pages of the bench app."""
