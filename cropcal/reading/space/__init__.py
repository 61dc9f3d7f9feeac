"""space.toml.

In: its text and the crop tables. Out: a ``Space`` or problems. Read first: ``read``; ``checks`` holds one
function a check.
"""
