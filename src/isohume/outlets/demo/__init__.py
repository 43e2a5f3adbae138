"""Demonstration days of invented plants: input files as a plant would keep them."""
