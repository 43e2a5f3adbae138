"""The pages of the register app."""
