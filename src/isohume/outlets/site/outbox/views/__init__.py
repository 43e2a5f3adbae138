"""The page of entries that wait, and what the tablet asks for them."""
