"""The pages, a question each."""
