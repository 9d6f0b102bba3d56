"""Every quantity that a rule may measure; importing this package registers them."""
from . import containment, document, driveline, placement, protective  # noqa: F401
