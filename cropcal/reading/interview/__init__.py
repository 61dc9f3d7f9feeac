"""The questions of ``cropcal new`` and how an answer is understood.

Read first: ``questions``.
"""
