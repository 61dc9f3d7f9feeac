"""Published formulas on numbers and arrays, each with its source.

In and out: numbers with units in their names. Read first: ``light``, then ``growth``.
"""
