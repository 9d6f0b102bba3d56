"""The real car: readings of tape, plumb bob and level; where the powertrain then is; what passes there; what to move.

Files: ``instruments`` and ``shims`` (rows of the catalog), ``readings`` (the readings file and the form for it), ``fitted`` (readings to
placement, each reading's residual, what is not determined, what cannot be right).
"""
