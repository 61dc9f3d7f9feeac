"""Every way in which a site could be used in a season, and what is wanted.

In: a space, growth in its beds. Out: candidate columns and demand for ``optimize``. Read first:
``prepare``.
"""
