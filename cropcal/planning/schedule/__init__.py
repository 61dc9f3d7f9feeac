"""What to do on which day.

In: the columns that were chosen. Out: batches, jobs, seed orders, what to look at. Read first: ``batches``.
"""
