"""The numerical kernels of the forecast; see layout.py for the room they work in."""
