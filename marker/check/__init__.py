"""Does the layout hold? Worked out again from the job alone, with none of the code that made it.

shapely, the plain data of ``marker.model`` and the reading of lengths in ``marker.units`` are all this
package uses, so that a mistake in the making of a layout cannot hide in its checking.
"""

from marker.check.fault import Fault
from marker.check.geometry import DEPTH_TOLERANCE, outside, overlapping_pairs
from marker.check.verify import limited, missing, verify

__all__ = ["DEPTH_TOLERANCE", "Fault", "limited", "missing", "outside", "overlapping_pairs", "verify"]
