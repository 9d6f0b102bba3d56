"""Receiver of the transmission mount: sleeve on the cross member that takes the mount's tube (see ``transmission_mount``)."""
from __future__ import annotations

from . import transmission_mount

VERSION = transmission_mount.VERSION
Spec = transmission_mount.Spec
spec = transmission_mount.spec
build = transmission_mount.build_receiver
