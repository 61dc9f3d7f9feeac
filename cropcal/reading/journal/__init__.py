"""journal.csv.

In: its lines. Out: a ``Journal`` and problems; ``append`` writes one line safely. Read first: ``read``.
"""
