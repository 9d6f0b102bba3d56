# Runs at every start of FreeCAD, with and without a window: puts workbench/ on the path and imports the empty package,
# which is what makes FreeCAD willing to restore our objects from a document.
#
# Flat on purpose: FreeCAD executes this text inside a function and without __file__. On its older Pythons, functions and comprehensions
# written here would see none of the names. Not resolved to the real path: through a symlink that path lies outside the
# add-on folders, and FreeCAD refuses to import from there. At the end of the path, so that we hide nobody's module.
import os
import sys

for _entry in list(sys.path):
    _folder = os.path.normpath(os.path.join(_entry, "workbench"))
    if os.path.isfile(os.path.join(_folder, "crankline", "__init__.py")):
        if _folder not in sys.path:
            sys.path.append(_folder)
        break

import crankline  # noqa: F401
