"""The life of one number, left to right: reading, assurance, decision, record."""
