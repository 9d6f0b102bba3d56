"""The real car: readings of tape, plumb bob and level; where the powertrain then is; what passes there; what to move. Imports without
FreeCAD.

``readings`` (the readings file, the form for it), ``fitted`` (readings to placement, residuals, what is not determined, what cannot be
right), ``verdicts`` (findings with intervals), ``moves`` (what a builder moves), ``report`` (all of it as text and as plain data). The
numbers are in ``mechanics``: ``pose_fit``, ``sighting``, ``measured_points``, ``gross_errors``, ``next_reading``, ``correction``.

For a panel, step by step:

1. ``car, scene = fitted.designed(shot.car, shot.placed)``: the car as designed, whatever is shown.
2. ``readings.read(path, car, scene)`` of a file, or a record that the form fills: ``readings.Readings(readings=(readings.Reading(name=...,
   read=(mm or rad, ...), ...),), ...)`` and ``readings.of_record(record, car, scene)``. Its rows are the boxes ``set_up.readings`` and
   ``readings.EXTRA``, by name; ``read=()`` is a blank; ``readings.USUAL`` names the instrument, ``catalog.names("instruments")`` the
   others.
3. ``found = fitted.of(car, record, measured)``: some hundredths of a second, so as often as a key is pressed. Its ``freedoms``,
   ``lines``, ``lost``, ``asked``, ``suspects``, ``chassis_off``, ``determined``; sentences of them: ``report.notes(found)``,
   ``report.said(line, suspect, lines)``.
4. ``told = verdicts.of(found)`` (a second or two of a whole car) and ``moves.correct(found)``, within ``units.read_in(car.car.units)``;
   ``report.Outcome(found, told, moves.correct(found), found.wanted, scenes.of(found.as_built))`` for ``report.text`` and, as ``Job(...,
   fitted=outcome)``, for the products ``outputs.FITTED``.
5. Keep it: the car with ``placement=replace(placement, as_built=found.record, shown="as_built")``, applied like any other change; shown
   ``as_designed`` again by the same field. Only where ``found.determined``.
"""
