"""Incoming lots against the supplier's certificate, and history brought from spreadsheets."""
