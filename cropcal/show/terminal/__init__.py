"""What each command prints: one module per command, ``basics`` for what they share.

In: records. Out: lines of at most 80 columns.
"""
