"""TOML and CSV as text with line numbers, and how a mistake is worded.

In: text. Out: values with their places, problems. Read first: ``source``.
"""
