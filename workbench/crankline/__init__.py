"""Crankline: powertrain placement, mounts and driveshaft containment for drag-race chassis.

This module is imported at every start of the host and therefore stays empty: it only names the package's place and the
hook through which documents reach their view providers.
"""
import os

if __name__ != "crankline":
    # Class paths are stored in documents. A second copy under another name would write paths that nobody can load.
    raise ImportError(
        f"crankline was imported as {__name__!r}; only 'crankline' is allowed, because documents store class paths: "
        "put the folder that holds crankline on sys.path instead")

VERSION = "0.1.0"
PACKAGE = os.path.dirname(__file__)
# Not realpath: through a symlinked add-on the resolved path lies outside the host's add-on folders and is refused.
ROOT = os.path.dirname(os.path.dirname(PACKAGE))

gui_hook = None
"""Set by InitGui.py to a function of one document object that dresses it with a view provider; None without a GUI."""
