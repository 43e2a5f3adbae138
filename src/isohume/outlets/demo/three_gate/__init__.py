"""Plant B, Three Gate Smokehouse (invented): 90 days of its bench, made by performing the site's own actions.

Three incidents are in it, for a newcomer to find: a cart that was wet where nobody looked, sticks that were read warm,
a limit that was cited from an old edition. Its proficiency round came back with z = 2.3.
"""

from __future__ import annotations

from isohume.outlets.demo.three_gate.making import live
from isohume.outlets.demo.three_gate.plant import PLANT

__all__ = ["PLANT", "live"]
