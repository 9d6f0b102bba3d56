"""One user action, one undo step: what happens inside is committed together, or aborted when it fails."""
from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def transaction(document, name: str) -> Iterator[None]:
    """Commit what is done to a document as one undo step; abort it when an exception leaves the block."""
    document.openTransaction(name)
    try:
        yield
    except BaseException:
        document.abortTransaction()
        raise
    document.commitTransaction()
