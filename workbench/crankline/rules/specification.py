"""Numbers of specifications, as rules and car files write them."""
from __future__ import annotations

import re


def normal(text: str) -> str:
    """A specification number without what people write differently: SFI 29.1, sfi-29.1, SFI spec 29.1, 29.1. Any other text stays."""
    found = re.fullmatch(r"(?:SFI[\s_.-]*)?(?:SPEC(?:IFICATION)?\.?[\s_-]*)?(\d+\.\d+)\s*([A-Z]?)", text.strip().upper())
    return f"SFI {found.group(1)}{found.group(2)}" if found else " ".join(text.split()).upper()
