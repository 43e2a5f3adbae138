"""The pages of the lots app."""
