"""The numbers of the trade: placement, joints, shaft and balance; numpy only.

Nothing here knows FreeCAD, files or units other than mm, kg, N, s and rad (torque N.mm, stress N/mm2, density
kg/mm3, speed mm/s). Every function is vectorized: an argument may be a scalar or an array, leading axes broadcast,
points and directions carry a last axis of three. A hundred thousand placements are one call.
"""
