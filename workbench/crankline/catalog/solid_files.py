"""Files that hold the solid or mesh of a real engine or transmission: found by name, told apart by a digest of what is in them.

A file lies beside the catalog table, the car file or the document that names it. Where a file of that name has another digest it is not
the one that is meant, so that no other body is taken for it.
"""
from __future__ import annotations

import hashlib
import os
from functools import cache

from .. import model

ENDINGS = (".step", ".stp", ".brep", ".brp", ".stl")
LARGEST = 200_000_000
"""Bytes of the largest file that is read."""

_folders: dict[str, None] = {}


class SolidFileError(ValueError):
    """A file that is missing, has changed, or holds no body. One sentence."""


def look_in(folder: str | os.PathLike[str]) -> None:
    """Look for files in this folder from now on too."""
    name = os.path.abspath(os.fspath(folder))
    _folders.pop(name, None)
    _folders[name] = None


def wrong_name(name: str) -> str:
    """What is wrong with the name of a file; empty where it may be one."""
    if os.path.basename(name) != name or name.startswith("."):
        return f"{name!r} was found; give the name of a file that lies beside this one, without folders"
    if not name.lower().endswith(ENDINGS):
        return f"{name!r} was found; a file that ends in {', '.join(ENDINGS)} is allowed"
    return ""


def digest_of(path: str | os.PathLike[str]) -> str:
    """Digest of what is in a file; OSError where it cannot be read, SolidFileError where it is too large."""
    status = os.stat(path)
    if status.st_size > LARGEST:
        raise SolidFileError(f"{os.fspath(path)} has {status.st_size:,} bytes; at most {LARGEST:,} are allowed, so give a simpler solid")
    return _digest(os.path.abspath(os.fspath(path)), status.st_mtime_ns, status.st_size)


@cache
def _digest(path: str, _changed: int, _size: int) -> str:
    with open(path, "rb") as stream:
        found = hashlib.blake2b(digest_size=16)
        for piece in iter(lambda: stream.read(1 << 20), b""):
            found.update(piece)
    return found.hexdigest()


def beside(name: str, folder: str | os.PathLike[str] | None = None) -> str | None:
    """The path of a file in a folder, or in one of those that are looked in; None where there is none."""
    for place in ([os.fspath(folder)] if folder is not None else [*reversed(_folders)]):
        path = os.path.join(place, name)
        if os.path.isfile(path):
            return path
    return None


def digest_by_name(name: str) -> str:
    """Digest of a file that is looked for by its name; SolidFileError where there is none."""
    path = beside(name)
    if told := wrong_name(name):
        raise SolidFileError(f"solid.file: {told}")
    if path is None:
        raise SolidFileError(f"solid.file: there is no file {name!r} beside the document, the car file or the catalog table; put it there")
    return digest_of(path)


def find(name: str, digest: str | None) -> str:
    """The path of the file of a name and digest; SolidFileError says that it is missing, or has changed."""
    if told := wrong_name(name):
        raise SolidFileError(f"the file of its solid: {told}")
    changed = ""
    for place in reversed(_folders):
        path = os.path.join(place, name)
        try:
            if os.path.isfile(path):
                if digest_of(path) == digest:
                    return path
                changed = path
        except OSError as error:
            raise SolidFileError(f"the file {path} cannot be read ({error.strerror}); check its permissions") from None
    if changed:
        raise SolidFileError(f"the file {changed} is not the one that was used; put that one back, or pick the catalog row again to take "
                             "the file as it is now")
    raise SolidFileError(f"the file {name!r} of its solid is missing; put it beside the document, the car file or the catalog table")


def problem(solid: model.Solid) -> str:
    """Why the file of a solid is not there as it was used; empty where it is."""
    try:
        find(solid.file, solid.digest)
    except SolidFileError as error:
        return str(error)
    return ""
