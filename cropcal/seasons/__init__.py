"""Seasons that may come: a grower with sense and plants with luck, all drawn seasons at once.

In: a ``World`` of arrays, sowings, and plants that stand. Out: what was eaten, wasted, moved and cut in each
season. It knows no file and no record. Read first: ``world``, then ``simulate``.
"""
