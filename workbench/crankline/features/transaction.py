"""One user action, one undo step: what happens inside is committed together, or aborted when it fails."""
from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def transaction(document, name: str) -> Iterator[None]:
    """Commit what is done to a document as one undo step; abort it when an exception leaves the block. A document without a window keeps
    no undo steps: it keeps this one while the block runs, so that what fails leaves no trace there either."""
    kept = document.UndoMode
    document.UndoMode = 1
    try:
        document.openTransaction(name)
        try:
            yield
        except BaseException:
            document.abortTransaction()
            raise
        document.commitTransaction()
    finally:
        if not kept:
            document.UndoMode = 0
