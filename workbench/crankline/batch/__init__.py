"""Many cars in one run: which they are (``cars``), what tells whether a result is still good (``inputs``), processes that do the work
(``pool`` and ``worker``), and what comes of it (``summary``). Each car has a folder of its own and costs nothing but itself where it fails.
"""
