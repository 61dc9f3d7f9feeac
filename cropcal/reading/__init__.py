"""Text to (records, problems). The only layer that opens a user's file.

Read first: ``space.read``, ``journal.read``, ``crops.read``; ``plan_json`` reads a written plan back.
"""
