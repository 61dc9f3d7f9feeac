"""Frozen records: what is known, without any maths.

Read first: ``space`` (the user's file), ``crop`` (the tables), ``plan`` (the result), ``journal`` (what
happened).
"""
