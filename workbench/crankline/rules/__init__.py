"""Rules as data: records, rule files, the conditions on which they apply, and which sets a car names. Imports without FreeCAD."""
