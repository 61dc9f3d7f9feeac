"""How likely each week is met.

In: batches as lots of plants. Out: a chance for each want and week, spare cells. Read first:
``simulation``.
"""
