"""Every quantity that a rule may measure; importing this package registers them."""
from . import (  # noqa: F401
               clearance,
               contact,
               containment,
               document,
               driveline,
               placement,
               plates,
               protective,
               release,
               service,
               stack,
               strength,
               travel,
               whirl,
)
