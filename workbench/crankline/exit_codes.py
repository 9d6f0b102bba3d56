"""Exit codes of the command line: what each says, and which of several is that of the whole."""
from __future__ import annotations

CLEAN, FINDINGS, REFUSED, BROKEN, INCOMPLETE, INTERNAL = range(6)
"""Nothing open at the chosen level; something is; usage or input refused; a document that cannot be opened or recomputed, or a run that was
stopped; something not looked at or not written; an internal error."""
WORST_FIRST = (INTERNAL, BROKEN, REFUSED, INCOMPLETE, FINDINGS, CLEAN)
"""In the order in which one of them is that of a run over many cars."""
NO_REPORT = (REFUSED, BROKEN, INTERNAL)
"""Those of a run that came to no report."""
WORDS = {CLEAN: "clean", FINDINGS: "findings", REFUSED: "refused", BROKEN: "document broken, or stopped", INCOMPLETE: "not all evaluated",
         INTERNAL: "internal error"}
