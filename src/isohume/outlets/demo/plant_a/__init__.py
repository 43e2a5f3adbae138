"""Plant A, Harrow Lane Oat Works (invented): 90 days of its bench, made by performing the site's own actions.

Same seed and same moment, same plant. Two incidents are in it, for a newcomer to find.
"""

from __future__ import annotations

from isohume.outlets.demo.plant_a.making import make

__all__ = ["make"]
