"""Every quantity that a rule may measure; importing this package registers them."""
from . import (clearance, contact, containment, document, driveline, placement, plates, protective, release, service, stack, strength,  # noqa: F401
               travel, whirl)
