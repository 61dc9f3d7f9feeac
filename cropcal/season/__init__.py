"""A season: a space with all that lies beside it, read, planned and noted; for the commands and for Python.

Comes in: a folder with space.toml, and beside it crops.csv, journal.csv, air.csv, meter.csv, plan/plan.json.
Goes out: answers, plans and their files, or a ``SpaceError``. Nothing here prints. Read ``season`` first.
"""
