"""Planning again from what stands today.

In: the plan before, the journal. Out: a task that continues standing batches, and the list of changes. Read
first: ``resume``.
"""
