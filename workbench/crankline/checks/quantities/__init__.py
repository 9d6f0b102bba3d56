"""Every quantity that a rule may measure; importing this package registers them."""
from . import (clearance, containment, document, driveline, placement, plates, protective, release, stack, strength, travel,  # noqa: F401
               whirl)
