"""The one way in which a file is written: beside its place under another name, and renamed once it was verified."""
from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path


@contextmanager
def replacing(path: str | os.PathLike[str]) -> Iterator[Path]:
    """Gives a name beside ``path`` to write to; when the block ends, that file takes the place of ``path``, with the rights of the one
    that was there. Whatever the block raises leaves ``path`` as it was. OSError where the system refuses."""
    target = Path(os.path.realpath(path))
    temporary = target.with_name(f".{target.stem}.{os.getpid()}{target.suffix}")
    try:
        yield temporary
        if target.exists():
            os.chmod(temporary, target.stat().st_mode & 0o777)
        os.replace(temporary, target)
    finally:
        with suppress(OSError):
            temporary.unlink()


def write(path: str | os.PathLike[str], data: bytes) -> None:
    """Write a file through to the disk, so that a power cut after the renaming leaves no empty one."""
    with open(path, "wb") as stream:
        stream.write(data)
        stream.flush()
        os.fsync(stream.fileno())
