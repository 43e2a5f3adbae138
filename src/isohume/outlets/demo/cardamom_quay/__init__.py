"""Plant C, Cardamom Quay Blends (invented): 90 days of its bench, made by performing the site's own actions.

Three incidents are in it, for a newcomer to find: cloves that climb on one sensor and are carried over, a certificate
on another basis than the limit, a bottle that was left open. Its proficiency round came back with z = -0.9.
"""

from __future__ import annotations

from isohume.outlets.demo.cardamom_quay.making import live
from isohume.outlets.demo.cardamom_quay.plant import PLANT

__all__ = ["PLANT", "live"]
