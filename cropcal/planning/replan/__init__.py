"""Planning again from today's standing crops.

In: the plan before, the journal. Out: a task that continues standing batches, and the list of changes. Read
first: ``resume``.
"""
