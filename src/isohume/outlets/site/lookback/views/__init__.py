"""The pages of the lookback app."""
