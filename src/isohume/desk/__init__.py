"""Where bench and product meet."""
