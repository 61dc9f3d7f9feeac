"""A space with all that lies beside it: journal, measured series, past settings, last plan. Prints nothing.

In: a folder. Out: answers as DataFrames, a plan with its files; mistakes as ``SpaceError``. Read first:
``season``, then ``opened`` and ``plan``, which the commands share.
"""
