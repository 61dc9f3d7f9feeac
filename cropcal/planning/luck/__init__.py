"""What luck makes of a plan: chances, ranges, what is expected to be short or too much.

In: a plan's sowings and what stands. Out: drawn seasons (``cropcal.seasons``) and what they tell. Read first:
``world``, then ``told``.
"""
